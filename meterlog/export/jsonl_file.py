"""JSON Lines: one object a line, whose `type` says what it is. Numbers as numbers, times as ISO 8601 text."""

import json
from collections.abc import Sequence
from datetime import datetime
from pathlib import Path

from meterlog.export.budget_cell import BudgetObject, budget_objects
from meterlog.export.columns import key_of
from meterlog.export.tables import Cell, Table


def write_jsonl(tables: Sequence[Table], path: Path) -> None:
    """All tables into one file. OSError if the path cannot be written."""
    with path.open("w", encoding="utf-8", newline="\n") as file:
        for table in tables:
            keys = [key_of(column) for column in table.columns]
            for row in table.rows:
                file.write(_line(table.name, keys, row))


def _line(kind: str, keys: Sequence[str], row: Sequence[Cell]) -> str:
    cells = {key: _plain(cell) for key, cell in zip(keys, row, strict=True)}
    # NaN and infinity are no JSON; the record holds none, so one here is a fault to be seen.
    return json.dumps({"type": kind, **cells}, ensure_ascii=False, allow_nan=False) + "\n"


def _plain(cell: Cell) -> str | int | float | list[BudgetObject] | None:
    match cell:
        case datetime():
            return cell.isoformat(timespec="microseconds")
        case tuple():
            return budget_objects(cell)
        case _:
            return cell
