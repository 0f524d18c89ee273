"""Exports of a session, by the name of their format."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from sqlalchemy import Engine

from meterlog.export.csv_file import PLAIN, SEMICOLON, Flavour, write_csv
from meterlog.export.jsonl_file import write_jsonl
from meterlog.export.tables import SETTLED, Table, readings_table, settled_table, trips_table
from meterlog.export.xlsx_file import write_xlsx
from meterlog.report import ReportError, open_session, whole_file


@dataclass(frozen=True, slots=True)
class Format:
    """`holds_all` says whether one file takes every table; else each table gets a file of its own."""

    description: str
    write: Callable[[Sequence[Table], Path], None]
    holds_all: bool = True


def _csv(flavour: Flavour) -> Callable[[Sequence[Table], Path], None]:
    def write(tables: Sequence[Table], path: Path) -> None:
        write_csv(tables[0], path, flavour)

    return write


def _parquet(tables: Sequence[Table], path: Path) -> None:
    try:
        from meterlog.export.parquet_file import write_parquet  # noqa: PLC0415 - pyarrow is an extra
    except ImportError as error:
        raise ReportError(f'Parquet needs pyarrow ({error}): pip install "meterlog[parquet]"') from error
    write_parquet(tables[0], path)


FORMATS = {
    "csv": Format("comma and decimal point, UTF-8", _csv(PLAIN), holds_all=False),
    "csv-semicolon": Format(
        "semicolon and decimal comma, for spreadsheets that write 1,5", _csv(SEMICOLON), holds_all=False
    ),
    "jsonl": Format("one JSON object a line", write_jsonl),
    "parquet": Format("typed columns, for data frames; needs pyarrow", _parquet, holds_all=False),
    "xlsx": Format("a workbook, one sheet for each table", write_xlsx),
}


def write_export(
    engine: Engine, session_id: int, format_name: str, path: Path, *, readings: bool = False
) -> list[Path]:
    """Write the settled values of a session and the guards that tripped, with `readings` also its raw
    readings; return what was written.

    A format that holds one table to a file puts the others beside: "x.csv", "x-guard-trips.csv" if a guard
    tripped, and "x-readings.csv".
    ReportError: no such format, the package it needs is not installed, or the file cannot be written.
    RecordsError: no such session.
    """
    chosen = _format(format_name)
    session = open_session(engine, session_id)
    tables = [settled_table(session)]
    tables += [trips_table(session)] if session.course.trips else []
    tables += [readings_table(session)] if readings else []
    files = [(path, tables)] if chosen.holds_all else [(_path(path, table), [table]) for table in tables]
    for place, content in files:
        with whole_file(place) as draft:
            chosen.write(content, draft)
    return [place for place, _ in files]


def _path(path: Path, table: Table) -> Path:
    """The first table goes where it was asked for, the others beside it: "x-readings.csv"."""
    if table.name == SETTLED:
        return path
    return path.with_stem(f"{path.stem}-{table.name.replace(' ', '-')}s")


def _format(name: str) -> Format:
    if name not in FORMATS:
        known = "; ".join(f"{key}: {format_.description}" for key, format_ in FORMATS.items())
        raise ReportError(f"{name!r} is no export format; choose one of: {known}")
    return FORMATS[name]
