"""Workbooks, opened with another library than the one that wrote them."""

from collections.abc import Iterable
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from openpyxl import Workbook, load_workbook
from openpyxl.worksheet.worksheet import Worksheet

from meterlog.accuracy.budget import Line, Source
from meterlog.export.tables import Cell, Table
from meterlog.export.xlsx_file import write_xlsx

SUMMER, WINTER = (timezone(timedelta(hours=hours)) for hours in (2, 1))


def book(tmp_path: Path, tables: list[Table], **limits: int) -> Workbook:
    path = tmp_path / "one.xlsx"
    write_xlsx(tables, path, **limits)
    return load_workbook(path)


def sheet_of(tmp_path: Path, columns: list[str], rows: Iterable[list[Cell]]) -> Worksheet:
    return book(tmp_path, [Table("reading", columns, list(rows))])["readings"]


def test_numbers_are_numbers_and_text_is_text(tmp_path: Path) -> None:
    sheet = sheet_of(tmp_path, ["a", "b", "c", "d", "e"], [[-12.3, 7, "=1+1", "http://x", None]])
    assert [cell.value for cell in sheet[2]][:4] == [-12.3, 7, "=1+1", "http://x"]
    assert [cell.data_type for cell in sheet[2]][:4] == ["n", "n", "s", "s"]
    assert sheet["C2"].hyperlink is None


def test_a_budget_is_text(tmp_path: Path) -> None:
    sheet = sheet_of(tmp_path, ["budget"], [[(Line(Source("=readings", 0.0005), 2.0, 0.001),)]])
    assert (sheet["A2"].value, sheet["A2"].data_type) == ("=readings (normal) 0.001", "s")


def test_times_are_dates_with_the_offset_beside(tmp_path: Path) -> None:
    night = [datetime(2026, 10, 25, 2, 30, 0, 250_000, tzinfo=zone) for zone in (SUMMER, WINTER)]
    sheet = sheet_of(tmp_path, ["time", "value"], [[time, 1.5] for time in night])
    assert [cell.value for cell in sheet[1]] == ["time", "offset", "value"]
    assert [cell.value for cell in sheet[2]] == [datetime(2026, 10, 25, 2, 30, 0, 250_000), "+02:00", 1.5]  # noqa: DTZ001
    assert sheet["B3"].value == "+01:00"
    assert sheet["A2"].is_date


def test_the_head_stays_in_view(tmp_path: Path) -> None:
    assert sheet_of(tmp_path, ["value"], [[1.0]]).freeze_panes == "A2"


def test_a_sheet_for_each_table_and_an_empty_one_has_its_head(tmp_path: Path) -> None:
    made = book(tmp_path, [Table("settled value", ["value"], []), Table("reading", ["value"], [[1.0]])])
    assert made.sheetnames == ["settled values", "readings"]
    assert made["settled values"]["A1"].value == "value"


@pytest.mark.parametrize(("count", "sheets"), [(0, 1), (3, 1), (4, 2), (6, 2), (7, 3)])
def test_a_table_too_long_for_a_sheet_goes_on_in_the_next(tmp_path: Path, count: int, sheets: int) -> None:
    table = Table("reading", ["value"], ([float(index)] for index in range(count)))
    made = book(tmp_path, [table], most_rows=4)
    assert made.sheetnames == ["readings", "readings 2", "readings 3"][:sheets]
    found = [row[0] for sheet in made for row in sheet.iter_rows(min_row=2, values_only=True)]
    assert found == [float(index) for index in range(count)]


def test_nan_is_refused(tmp_path: Path) -> None:
    with pytest.raises(TypeError, match="NAN"):
        write_xlsx([Table("reading", ["value"], [[float("nan")]])], tmp_path / "one.xlsx")


def test_a_place_that_cannot_be_written_is_an_oserror(tmp_path: Path) -> None:
    with pytest.raises(FileNotFoundError):
        write_xlsx([Table("reading", ["value"], [])], tmp_path / "nowhere" / "one.xlsx")
