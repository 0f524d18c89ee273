"""The demonstration of a meter that drifts. All its figures are invented; how soon a drift is found is held
to theory in tests/checking/test_year.py."""

from pathlib import Path

import pytest

from meterlog.demo.drift import WEEKS, drift
from meterlog.demo.year import STEADY
from meterlog.records import DataFolder, list_sessions, replay


def test_it_says_the_week_the_date_and_the_sessions(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    history = drift(tmp_path / "record")
    said = capsys.readouterr().out
    assert history.charts is not None
    first = {name: next(n for n in places if n >= STEADY) for name, places in history.charts.alarms.items()}
    for name, place in first.items():
        assert f"{name}: found in week {place + 1} ({history.checks[place].day})" in said
    outside = next(n for n, one in enumerate(history.checks) if one.standing == "outside")
    assert STEADY < max(first.values()) < outside < WEEKS, "found before it mattered"
    assert f"outside its specification: first in week {outside + 1}" in said
    assert f"next check by {history.due}" in said
    assert f"to doubt: session {outside} of" in said
    assert f"and {WEEKS - outside} sessions that were begun when it was known" in said
    assert (tmp_path / "record" / "history.png").read_bytes().startswith(b"\x89PNG")
    record = DataFolder(tmp_path / "record").open_existing()
    assert len(list_sessions(record)) == WEEKS
    assert replay(record, outside).differences == ()
