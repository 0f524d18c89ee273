"""Comma-separated values in two flavours, because half the world's spreadsheets read "1,5" as a number.

plain      comma and decimal point, UTF-8, lines ended by CR LF (RFC 4180)
semicolon  semicolon and decimal comma, with the mark at its head that tells spreadsheets it is UTF-8
"""

import csv
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from meterlog.export.budget_cell import budget_text
from meterlog.export.tables import Cell, Table

_FORMULA_STARTERS = ("=", "+", "-", "@", "\t", "\r")


@dataclass(frozen=True, slots=True)
class Flavour:
    separator: str
    decimal_mark: str
    encoding: str


PLAIN = Flavour(",", ".", "utf-8")
SEMICOLON = Flavour(";", ",", "utf-8-sig")


def write_csv(table: Table, path: Path, flavour: Flavour) -> None:
    """One table, its column names first. OSError if the path cannot be written."""
    with path.open("w", encoding=flavour.encoding, newline="") as file:
        writer = csv.writer(file, delimiter=flavour.separator, lineterminator="\r\n")
        writer.writerow(table.columns)
        for row in table.rows:
            writer.writerow(_texts(row, flavour))


def _texts(row: Sequence[Cell], flavour: Flavour) -> list[str]:
    return [_text(cell, flavour) for cell in row]


def _text(cell: Cell, flavour: Flavour) -> str:
    """Only text is guarded: a number keeps its minus and stays a number."""
    match cell:
        case None:
            return ""
        case str():
            return _guarded(str(cell))
        case datetime():
            return cell.isoformat(timespec="microseconds")
        case tuple():
            return _guarded(budget_text(cell))
        case _:
            return repr(cell).replace(".", flavour.decimal_mark)


def _guarded(text: str) -> str:
    """A text that a spreadsheet would take for a formula gets an apostrophe before it."""
    return f"'{text}" if text.startswith(_FORMULA_STARTERS) else text
