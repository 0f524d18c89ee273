"""A table in the report: a row for each of its own, with what was expected, measured, redone and left out.

+13.09 and -13.73 dB are the replay curve of IEC 60098 at 100 Hz and 10 kHz about 1 kHz; levels are made up.
"""

from pathlib import Path

import pytest

from meterlog.procedure import ActionKind
from meterlog.quantity import ratio_from_db
from meterlog.records import replay
from meterlog.report.build import build_report
from meterlog.report.model import Report, Row
from meterlog.report.open import open_session
from meterlog.report.standing import Standing
from tests.report.recorded import Recorded, new_record

TABLE = """
[procedure]
title = "Replay curve"
revision = "1"
unit = "Any"
[[channel]]
name = "rail"
unit = "V"
show = "V"
[[step]]
id = "curve"
title = "Replay curve"
pattern = "table"
channel = "rail"
curve = "riaa"
reference_row = "1 kHz"
tolerance = "0.5 dB"
[[step.row]]
at = "100 Hz"
[[step.row]]
at = "1 kHz"
[[step.row]]
at = "2 kHz"
[[step.row]]
at = "10 kHz"
"""


@pytest.fixture
def report(tmp_path: Path) -> Report:
    record = new_record(tmp_path)
    with Recorded(record, TABLE) as session:
        for volts in (2.0, 2.0 * ratio_from_db(13.09)):
            session.go_on()
            session.settle_at(volts)
        session.act(ActionKind.SKIP_ROW, "whistle at 2 kHz")
        for volts in (0.7, 2.0 * ratio_from_db(-13.73)):
            session.go_on()
            session.settle_at(volts)
            if volts == 0.7:
                session.act(ActionKind.REDO_ROW, "10 kHz")
    assert replay(record, session.id).differences == ()
    return build_report(open_session(record, session.id))


def row(report: Report, line: str) -> Row:
    return next(row for row in report.rows if row.line == line)


def test_the_rows_stand_in_the_order_of_the_file_with_what_is_expected(report: Report) -> None:
    assert [(row.line, row.target, row.window) for row in report.rows] == [
        ("100 Hz", "+13.09 dB about 1 kHz", "± 0.5 dB"),
        ("1 kHz", "the reference", ""),
        ("2 kHz", "-2.59 dB about 1 kHz", "± 0.5 dB"),
        ("10 kHz", "-13.73 dB about 1 kHz", "± 0.5 dB"),
    ]


def test_each_shows_its_value_and_how_far_it_is_off(report: Report) -> None:
    low, reference = row(report, "100 Hz").found, row(report, "1 kHz").found
    assert (low.standing, reference.standing) == (Standing.PASS, Standing.NOT_JUDGED)
    assert low.shown is not None
    assert abs(float(low.shown.deviation)) < 0.02
    assert float(low.shown.value) == pytest.approx(2.0 * ratio_from_db(13.09), rel=1e-3)


def test_a_row_left_out_says_why(report: Report) -> None:
    left_out = row(report, "2 kHz").found
    assert left_out.standing is Standing.SKIPPED
    assert left_out.reason == "2 kHz left out: whistle at 2 kHz"


def test_a_row_taken_again_counts_and_the_first_is_kept_as_replaced(report: Report) -> None:
    assert row(report, "10 kHz").found.standing is Standing.PASS
    slip, value = [one for one in report.captured if one.line == "10 kHz"]
    assert slip.fate == f"replaced by {value.number}, no reason given"
    assert (slip.standing, value.fate) == (Standing.FAIL, "")


@pytest.mark.parametrize("named", ["2 kHz", ""])
def test_a_row_redone_and_then_left_out_has_no_value_from_before(tmp_path: Path, named: str) -> None:
    record = new_record(tmp_path)
    with Recorded(record, TABLE) as session:
        for volts in (2.0, 2.0 * ratio_from_db(13.09), 0.7):  # 2 kHz is far outside
            session.go_on()
            session.settle_at(volts)
        session.act(ActionKind.REDO_ROW, named)
        session.act(ActionKind.SKIP_ROW, "whistle")
        session.go_on()
        session.settle_at(2.0 * ratio_from_db(-13.73))
    report = build_report(open_session(record, session.id))
    found = row(report, "2 kHz").found
    assert (found.standing, found.shown) == (Standing.SKIPPED, None)
    assert row(report, "100 Hz").found.standing is Standing.PASS
