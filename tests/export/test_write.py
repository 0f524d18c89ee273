"""Exports out of a real record, in every format, read back with other code."""

import csv
import json
import sys
from collections.abc import Iterator
from pathlib import Path

import polars as pl
import pytest
from openpyxl import load_workbook
from sqlalchemy import Engine

from meterlog.export import FORMATS, write_export
from meterlog.records.errors import RecordsError
from meterlog.report import ReportError
from tests.report.recorded import Recorded, new_record
from tests.report.story import CHECK_ONLY


@pytest.fixture(scope="module")
def recorded(tmp_path_factory: pytest.TempPathFactory) -> Iterator[tuple[Engine, int]]:
    engine = new_record(tmp_path_factory.mktemp("record"))
    with Recorded(engine) as session:
        session.read(-0.25)
        session.settle_at(15.02)
        session.go_on()
    yield engine, session.id
    engine.dispose()


def rows_of(path: Path, encoding: str, separator: str) -> list[dict[str, str]]:
    with path.open(encoding=encoding, newline="") as file:
        return list(csv.DictReader(file, delimiter=separator))


@pytest.mark.parametrize(
    ("name", "encoding", "separator", "mark"),
    [("csv", "utf-8", ",", "."), ("csv-semicolon", "utf-8-sig", ";", ",")],
)
def test_csv_in_two_files(
    recorded: tuple[Engine, int], tmp_path: Path, name: str, encoding: str, separator: str, mark: str
) -> None:
    engine, session_id = recorded
    files = write_export(engine, session_id, name, tmp_path / "x.csv", readings=True)
    assert files == [tmp_path / "x.csv", tmp_path / "x-readings.csv"]
    (value,) = rows_of(files[0], encoding, separator)
    assert float(value["value"].replace(mark, ".")) == pytest.approx(15.02, abs=0.01)
    assert (value["title"], value["verdict"], value["counts"]) == ("Positive rail", "pass", "yes")
    readings = rows_of(files[1], encoding, separator)
    assert len(readings) > 3
    assert readings[0]["value"] == f"-0{mark}25"


def test_settled_values_alone_are_one_file(recorded: tuple[Engine, int], tmp_path: Path) -> None:
    engine, session_id = recorded
    assert write_export(engine, session_id, "csv", tmp_path / "x.csv") == [tmp_path / "x.csv"]
    assert [path.name for path in tmp_path.iterdir()] == ["x.csv"]


def test_jsonl_in_one_file(recorded: tuple[Engine, int], tmp_path: Path) -> None:
    engine, session_id = recorded
    (path,) = write_export(engine, session_id, "jsonl", tmp_path / "x.jsonl", readings=True)
    objects = [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]
    assert [one["type"] for one in objects][:2] == ["settled value", "reading"]
    assert objects[1]["value"] == -0.25


def test_xlsx_in_one_file(recorded: tuple[Engine, int], tmp_path: Path) -> None:
    engine, session_id = recorded
    (path,) = write_export(engine, session_id, "xlsx", tmp_path / "x.xlsx", readings=True)
    book = load_workbook(path)
    assert book.sheetnames == ["settled values", "readings"]
    assert book["settled values"].max_row == 2
    assert -0.25 in [cell.value for cell in book["readings"][2]]


def test_parquet_in_two_files(recorded: tuple[Engine, int], tmp_path: Path) -> None:
    engine, session_id = recorded
    files = write_export(engine, session_id, "parquet", tmp_path / "x.parquet", readings=True)
    assert files == [tmp_path / "x.parquet", tmp_path / "x-readings.parquet"]
    (value,) = pl.read_parquet(files[0]).to_dicts()
    assert (value["title"], value["verdict"], value["unit"]) == ("Positive rail", "pass", "V")
    assert [line["source"] for line in value["budget"]] == [
        "readings: scatter, drift, one count of the display"
    ]
    assert pl.read_parquet(files[1])["value"][0] == -0.25


@pytest.mark.parametrize("name", FORMATS)
def test_without_pyarrow_only_parquet_is_missing(
    recorded: tuple[Engine, int], tmp_path: Path, monkeypatch: pytest.MonkeyPatch, name: str
) -> None:
    engine, session_id = recorded
    monkeypatch.setitem(sys.modules, "pyarrow", None)
    monkeypatch.delitem(sys.modules, "meterlog.export.parquet_file", raising=False)
    if name != "parquet":
        assert write_export(engine, session_id, name, tmp_path / "x") == [tmp_path / "x"]
        return
    with pytest.raises(ReportError, match=r'pip install "meterlog\[parquet\]"'):
        write_export(engine, session_id, name, tmp_path / "x")
    assert list(tmp_path.iterdir()) == []


GUARDED = (
    CHECK_ONLY + '[[guard]]\nname = "Rail"\nchannel = "rail"\nnever_above = "16 V"\ntext = "Turn it down."\n'
)


def test_guards_that_tripped_have_a_table_of_their_own(tmp_path: Path) -> None:
    engine = new_record(tmp_path)
    with Recorded(engine, GUARDED) as session:
        session.read(17.0)
        session.read(17.25)
        session.read(15.0)
        session.go_on()
        session.settle_at(15.02)
    files = write_export(engine, session.id, "csv", tmp_path / "x.csv", readings=True)
    assert [file.name for file in files] == ["x.csv", "x-guard-trips.csv", "x-readings.csv"]
    (trip,) = rows_of(files[1], "utf-8", ",")
    assert (trip["guard"], trip["step"], trip["value"], trip["limit"]) == ("Rail", "rail", "17.25", "16.0")
    write_export(engine, session.id, "xlsx", tmp_path / "x.xlsx")
    assert load_workbook(tmp_path / "x.xlsx").sheetnames == ["settled values", "guard trips"]
    engine.dispose()


def test_an_unknown_format_is_told_what_there_is(recorded: tuple[Engine, int], tmp_path: Path) -> None:
    engine, session_id = recorded
    with pytest.raises(ReportError) as caught:
        write_export(engine, session_id, "ods", tmp_path / "x.ods")
    assert all(name in str(caught.value) for name in FORMATS)
    assert list(tmp_path.iterdir()) == []


def test_no_such_session(recorded: tuple[Engine, int], tmp_path: Path) -> None:
    with pytest.raises(RecordsError, match="no session 99"):
        write_export(recorded[0], 99, "csv", tmp_path / "x.csv")


@pytest.mark.parametrize("name", FORMATS)
def test_a_place_that_cannot_be_written(recorded: tuple[Engine, int], tmp_path: Path, name: str) -> None:
    engine, session_id = recorded
    with pytest.raises(ReportError, match="cannot be written"):
        write_export(engine, session_id, name, tmp_path / "nowhere" / "x")
