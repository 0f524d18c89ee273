"""Parquet files, read back with another implementation of the format than the one that wrote them: polars."""

import struct
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import polars as pl
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyarrow import parquet

from meterlog.accuracy.budget import Line, Source
from meterlog.accuracy.spread import Shape
from meterlog.export.parquet_file import write_parquet
from meterlog.export.tables import Cell, Table, readings_table, settled_table, trips_table
from meterlog.procedure import Pass
from meterlog.reading import State
from tests.report.story import Story, dbu
from tests.report.wagtail import whole_story

UTC_TIME = pl.Datetime("us", "UTC")


def read_back(path: Path, columns: Sequence[str], rows: Sequence[Sequence[Cell]]) -> pl.DataFrame:
    write_parquet(Table("row", columns, rows), path)
    return pl.read_parquet(path)


@settings(max_examples=25)
@given(numbers=st.lists(st.floats(allow_nan=False, allow_infinity=False)))
def test_every_number_comes_back_bit_for_bit(
    tmp_path_factory: pytest.TempPathFactory, numbers: list[float]
) -> None:
    path = tmp_path_factory.mktemp("parquet") / "x.parquet"
    back = read_back(path, ["value"], [[number] for number in numbers])["value"].to_list()
    assert [struct.pack("<d", one) for one in back] == [struct.pack("<d", one) for one in numbers]


@pytest.mark.parametrize("number", [float("nan"), float("inf"), float("-inf")])
def test_what_is_no_value_is_refused(tmp_path: Path, number: float) -> None:
    with pytest.raises(ValueError, match="no value"):
        read_back(tmp_path / "x.parquet", ["value"], [[number]])


def test_both_hours_of_the_night_when_summer_time_ends(tmp_path: Path) -> None:
    night = [datetime(2026, 10, 25, 2, 30, 0, 7, timezone(timedelta(hours=hours))) for hours in (2, 1)]
    times = read_back(tmp_path / "x.parquet", ["time"], [[time] for time in night])["time"]
    assert times.dtype == UTC_TIME
    assert times.to_list() == [datetime(2026, 10, 25, hour, 30, 0, 7, UTC) for hour in (0, 1)]


def test_an_empty_table_has_its_columns_and_their_types(tmp_path: Path) -> None:
    table = settled_table(Story().session())
    frame = read_back(tmp_path / "x.parquet", table.columns, [])
    assert frame.height == 0
    assert frame.schema["shown_value"] == pl.Float64()
    assert (frame.schema["step"], frame.schema["replaces"]) == (pl.String(), pl.Int64())
    assert frame.schema["time"] == UTC_TIME
    assert isinstance(frame.schema["budget"], pl.List)


def test_a_long_table_is_written_in_groups(tmp_path: Path) -> None:
    path = tmp_path / "x.parquet"
    write_parquet(Table("reading", ["value"], ([float(index)] for index in range(7))), path, group_rows=3)
    assert parquet.ParquetFile(path).num_row_groups == 3
    assert pl.read_parquet(path)["value"].to_list() == [float(index) for index in range(7)]


def test_an_overload_is_null_with_its_state(tmp_path: Path) -> None:
    story = Story()
    story.read("output", 1.5, dbu(4.0))
    story.read("output", 1.7, None, State.OVERLOAD)
    write_parquet(readings_table(story.session()), tmp_path / "x.parquet")
    frame = pl.read_parquet(tmp_path / "x.parquet")
    assert frame["value"].to_list() == [dbu(4.0), None]
    assert frame["shown_value"].is_null().to_list() == [False, True]
    assert frame["state"].to_list() == ["ok", "overload"]


def test_a_budget_keeps_every_line(tmp_path: Path) -> None:
    story = Story()
    gain = Source.within("gain of bench meter", 0.003, Shape.RECTANGULAR)
    scatter = Source("readings", 0.0002, Shape.NORMAL, 11.0)
    lines = (Line(gain, 0.5, 0.5 * gain.standard_uncertainty), Line(scatter, 1.0, 0.0002))
    story.capture("noise", Pass.AS_FOUND, 0.00045, budget=lines)
    write_parquet(settled_table(story.session()), tmp_path / "x.parquet")
    first, second = pl.read_parquet(tmp_path / "x.parquet")["budget"].to_list()[0]
    assert first == {
        "source": "gain of bench meter",
        "distribution": "rectangular",
        "standard_uncertainty": gain.standard_uncertainty,
        "degrees_of_freedom": None,
        "sensitivity": 0.5,
        "contribution": 0.5 * gain.standard_uncertainty,
    }
    assert (second["source"], second["degrees_of_freedom"]) == ("readings", 11.0)


def test_every_cell_of_a_whole_session_comes_back(tmp_path: Path) -> None:
    """What the columns say they hold is what the rows hold."""
    story = whole_story()
    story.trip("level", Pass.AS_LEFT, None, dbu(10.0))
    session = story.session()
    for make in (settled_table, trips_table, readings_table):
        write_parquet(make(session), tmp_path / "x.parquet")
        rows = [tuple(row) for row in make(session).rows]
        assert rows
        assert pl.read_parquet(tmp_path / "x.parquet").rows() == [
            tuple([] if cell == () else cell for cell in row) for row in rows
        ]
