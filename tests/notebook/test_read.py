"""The record as data frames, held to what the record itself says. The sessions are made up."""

import struct
import time
from datetime import UTC, datetime, timedelta
from pathlib import Path

import polars as pl
import pytest

from meterlog import notebook
from meterlog.notebook.opened import opened
from meterlog.records import DataFolder, iter_readings, load_session
from tests.report.story import BEGAN, NS


def bits(numbers: pl.Series) -> list[bytes | None]:
    return [None if number is None else struct.pack("<d", number) for number in numbers]


def test_sessions_the_newest_first(folder: Path) -> None:
    second, first = notebook.sessions(folder).to_dicts()
    assert (first["session"], first["unit_serial"], first["verdict"]) == (1, "7", "pass")
    assert (first["procedure"], first["batch"]) == ("Check of a supply", "Kit of June")
    assert (second["session"], second["verdict"], second["ended"]) == (2, None, None)
    assert first["began"] == BEGAN
    with opened(folder) as engine:
        ended = load_session(engine, 1).header.ended
    assert ended is not None
    assert first["ended"] == BEGAN + timedelta(microseconds=ended.at_ns // 1000)


def test_settled_values_are_those_of_the_record_bit_for_bit(folder: Path) -> None:
    frame = notebook.settled(folder, 1)
    with opened(folder) as engine:
        (value,) = load_session(engine, 1).settled_values
    for name in ("value", "target", "low", "high", "standard_uncertainty", "expanded_uncertainty"):
        assert bits(frame[name]) == [struct.pack("<d", getattr(value, name))]
    assert frame.select("step", "unit", "verdict", "counts").row(0) == ("rail", "V", "pass", "yes")
    assert frame.schema["time"] == pl.Datetime("us", "UTC")


def test_a_budget_adds_up_to_its_value_s_uncertainty(folder: Path) -> None:
    """Root of the sum of squares: JCGM 100:2008, 5.1.2; the sources of one value are independent."""
    lines, values = notebook.budget(folder, 1), notebook.settled(folder, 1)
    assert lines["number"].to_list() == [1]
    assert lines["unit"].unique().to_list() == ["V"]
    total = lines["contribution"].pow(2).sum() ** 0.5
    assert total == pytest.approx(values["standard_uncertainty"][0], rel=1e-12)


def test_readings_are_those_of_the_record_and_an_overload_is_null(folder: Path) -> None:
    frame = notebook.readings(folder, 1)
    with opened(folder) as engine:
        stored = list(iter_readings(engine, 1))
    kept = [one.reading.value for one in stored]
    assert bits(frame["value"]) == [None if number is None else struct.pack("<d", number) for number in kept]
    assert frame.filter(state="overload")["value"].to_list() == [None]
    assert frame["value"].null_count() == 1
    assert frame["seconds"].to_list() == [one.at_ns / NS for one in stored]
    assert frame["time"][0] == BEGAN + timedelta(seconds=frame["seconds"][0])


def test_readings_of_one_channel(folder: Path) -> None:
    assert notebook.readings(folder, 1, channel="rail").equals(notebook.readings(folder, 1))
    assert notebook.readings(folder, 1, "no such channel").height == 0


def test_an_empty_session_has_the_columns_of_a_full_one(folder: Path) -> None:
    for ask in (notebook.settled, notebook.budget, notebook.readings):
        assert ask(folder, 2).height == 0
        assert ask(folder, 2).schema == ask(folder, 1).schema


def test_a_folder_of_no_sessions(tmp_path: Path) -> None:
    DataFolder(tmp_path).open().dispose()
    frame = notebook.sessions(str(tmp_path))
    assert frame.height == 0
    assert frame.schema["began"] == pl.Datetime("us", "UTC")


def test_the_zone_of_the_machine_changes_nothing(folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    here = notebook.readings(folder, 1)
    try:
        monkeypatch.setenv("TZ", "XYZ-12:45")
        time.tzset()
        assert datetime.now(UTC).astimezone().utcoffset() == timedelta(hours=12, minutes=45)
        assert notebook.readings(folder, 1).equals(here)
    finally:
        monkeypatch.undo()
        time.tzset()
