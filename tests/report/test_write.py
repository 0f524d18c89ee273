"""The whole way: events through the real engine into a real record, and out of it as a report."""

from pathlib import Path

import pytest
from sqlalchemy import Engine

from meterlog.records.errors import RecordsError
from meterlog.report import ReportError, open_session, write_report
from meterlog.report.build import build_report
from meterlog.report.standing import Standing
from tests.report.recorded import Recorded, new_record
from tests.report.story import OFFSET


@pytest.fixture
def engine(tmp_path: Path) -> Engine:
    return new_record(tmp_path)


def test_a_session_that_was_run_and_stored_is_reported(engine: Engine, tmp_path: Path) -> None:
    with Recorded(engine) as session:
        session.settle_at(14.6)
        session.redo("loose probe")
        session.settle_at(15.02)
        session.go_on()
    report = build_report(open_session(engine, session.id))
    assert report.header.recorded_verdict is Standing.PASS
    assert [value.fate for value in report.superseded] == ["replaced by 2: loose probe"]
    (row,) = report.rows
    assert row.found.shown is not None
    assert float(row.found.shown.value) == pytest.approx(15.02, abs=0.01)
    assert report.as_found.standing is Standing.PASS
    assert [meter.name for meter in report.meters] == ["bench meter"], "seen twice, the same"
    path = tmp_path / "report.html"
    write_report(engine, session.id, path)
    assert "loose probe" in path.read_text(encoding="utf-8")


def test_adjustments_are_reported_as_found_and_as_left_with_their_readings(engine: Engine) -> None:
    with Recorded(engine, OFFSET) as session:
        session.settle_at(0.031)
        session.settle_at(0.9)
        session.sweep(0.031, 0.002)
        session.settle_at(0.002)
        for begin, end in ((0.5, 1.0), (1.0, 0.6), (0.6, 0.995)):
            session.sweep(begin, end)
        session.settle_at(0.995)
        session.settle_at(0.003)
        session.go_on()
    report = build_report(open_session(engine, session.id))
    offset, peak, level = report.rows
    assert (offset.found.standing, offset.left.standing) == (Standing.FAIL, Standing.PASS)
    assert (peak.line, peak.found.standing) == ("maximum", Standing.NONE)
    assert peak.left.shown is not None
    assert float(peak.left.shown.value) == pytest.approx(1000.0, abs=5.0)
    assert (level.found.standing, level.left.standing) == (Standing.NOT_JUDGED, Standing.PASS)
    assert (report.as_found.standing, report.as_left.standing) == (Standing.FAIL, Standing.PASS)
    assert report.header.recorded_verdict is Standing.PASS
    trims = report.charts[0].trace
    assert trims.points[0].shown == pytest.approx(31.0, abs=1.1)
    assert trims.marks[-1].shown == pytest.approx(2.0, abs=1.1)
    assert trims.points[-1].time_s == trims.duration_s, "the reading that was decisive is on the chart"


def test_a_session_that_runs_is_reported_as_far_as_it_is_stored(engine: Engine) -> None:
    with Recorded(engine) as session:
        session.settle_at(15.0)
    report = build_report(open_session(engine, session.id))
    assert "not finished" in report.warning
    assert report.rows[0].found.standing is Standing.PASS


def test_no_such_session(engine: Engine, tmp_path: Path) -> None:
    with pytest.raises(RecordsError, match="no session 7"):
        write_report(engine, 7, tmp_path / "report.html")
    assert not (tmp_path / "report.html").exists()


def test_a_place_that_cannot_be_written(engine: Engine, tmp_path: Path) -> None:
    with Recorded(engine) as session:
        session.settle_at(15.0)
    with pytest.raises(ReportError, match="cannot be written"):
        write_report(engine, session.id, tmp_path / "nowhere" / "report.html")
