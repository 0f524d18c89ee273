"""One object a line, each of them JSON in the strict sense."""

import json
from datetime import UTC, datetime
from pathlib import Path

import pytest

from meterlog.accuracy.budget import Line, Source
from meterlog.export.jsonl_file import write_jsonl
from meterlog.export.tables import Table


def test_each_line_says_what_it_is(tmp_path: Path) -> None:
    path = tmp_path / "one.jsonl"
    time = datetime(2026, 10, 25, 2, 30, tzinfo=UTC)
    tables = [
        Table("settled value", ["value", "shown unit"], [[-12.3, "dBu"]]),
        Table("reading", ["value", "time", "raw"], [[None, time, "Ω\n"]]),
    ]
    write_jsonl(tables, path)
    assert [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()] == [
        {"type": "settled value", "value": -12.3, "shown_unit": "dBu"},
        {"type": "reading", "value": None, "time": "2026-10-25T02:30:00.000000+00:00", "raw": "Ω\n"},
    ]


def test_a_budget_is_a_list_of_its_lines(tmp_path: Path) -> None:
    table = Table("settled value", ["budget"], [[(Line(Source("readings", 0.0005), 2.0, 0.001),)], [()]])
    write_jsonl([table], tmp_path / "one.jsonl")
    first, second = map(json.loads, (tmp_path / "one.jsonl").read_text(encoding="utf-8").splitlines())
    assert first["budget"] == [
        {
            "source": "readings",
            "distribution": "normal",
            "standard_uncertainty": 0.0005,
            "degrees_of_freedom": None,
            "sensitivity": 2.0,
            "contribution": 0.001,
        }
    ]
    assert second["budget"] == []


@pytest.mark.parametrize("number", [float("nan"), float("inf")])
def test_what_is_no_json_is_refused(tmp_path: Path, number: float) -> None:
    with pytest.raises(ValueError, match="JSON"):
        write_jsonl([Table("reading", ["value"], [[number]])], tmp_path / "one.jsonl")
