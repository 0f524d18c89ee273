"""A workbook: a sheet for each table, real numbers and dates, the column names kept in view.

A date in a workbook knows no offset from UTC, so the local time has its offset as text in the next column.
"""

from collections.abc import Iterable, Iterator, Sequence
from datetime import datetime
from itertools import chain, islice
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import xlsxwriter

from meterlog.export.budget_cell import budget_text
from meterlog.export.tables import Cell, Table

MOST_ROWS = 1_048_576  # of a sheet, its head included: ECMA-376 leaves it open, every spreadsheet has it so
_OPTIONS = {
    "constant_memory": True,  # readings come by the million
    "strings_to_formulas": False,
    "strings_to_urls": False,
    "default_date_format": "yyyy-mm-dd hh:mm:ss.000",
}


def write_xlsx(tables: Sequence[Table], path: Path, most_rows: int = MOST_ROWS) -> None:
    """One workbook. OSError if the path cannot be written; TypeError for NaN or infinity.

    Rows wait in a temporary folder beside `path`: there is room for them where there is for the workbook.
    """
    try:
        with (
            TemporaryDirectory(prefix=f".{path.name}.", dir=path.parent) as folder,
            path.open("wb") as file,
            xlsxwriter.Workbook(file, _OPTIONS | {"tmpdir": folder}) as book,
        ):
            for table in tables:
                _write_table(book, table, most_rows)
    except xlsxwriter.exceptions.XlsxFileError as error:
        raise OSError(f"the workbook cannot be written: {error}") from error


def _write_table(book: Any, table: Table, most_rows: int) -> None:
    """A table too long for one sheet goes on in the next: "readings", "readings 2", ..."""
    for number, rows in enumerate(_portions(iter(table.rows), most_rows - 1), 1):
        sheet = book.add_worksheet(f"{table.name}s" if number == 1 else f"{table.name}s {number}")
        _write_head(book, sheet, table)
        for index, row in enumerate(rows, 1):
            _write_row(sheet, index, row)


def _portions(rows: Iterator[Sequence[Cell]], size: int) -> Iterator[Iterable[Sequence[Cell]]]:
    """The rows in portions, each used up before the next; one empty portion if there are none."""
    yield islice(rows, size)
    for first in rows:
        yield chain([first], islice(rows, size - 1))


def _write_head(book: Any, sheet: Any, table: Table) -> None:
    bold = book.add_format({"bold": True, "bottom": 1})
    column = 0
    for name in table.columns:
        titles = [name, "offset"] if name == "time" else [name]
        for title in titles:
            sheet.set_column(column, column, max(len(title), 22 if title == "time" else 9) + 2)
            sheet.write_string(0, column, title, bold)
            column += 1
    sheet.freeze_panes(1, 0)


def _write_row(sheet: Any, index: int, row: Sequence[Cell]) -> None:
    for column, cell in enumerate(chain.from_iterable(_spread(cell) for cell in row)):
        match cell:
            case None:
                pass
            case str():
                sheet.write_string(index, column, str(cell))
            case datetime():
                sheet.write_datetime(index, column, cell)
            case tuple():
                sheet.write_string(index, column, budget_text(cell))
            case _:
                sheet.write_number(index, column, cell)


def _spread(cell: Cell) -> tuple[Cell, ...]:
    """A time as local time and offset, "+02:00"; anything else as it is."""
    if isinstance(cell, datetime):
        return cell.replace(tzinfo=None), cell.isoformat()[-6:]
    return (cell,)
