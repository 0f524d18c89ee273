"""What a report says of whole, unfinished, skipped, redone and empty sessions."""

from datetime import datetime

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, Pass
from meterlog.report.build import build_report
from meterlog.report.model import Report, Row
from meterlog.report.standing import Standing
from tests.report.story import CHECK_ONLY, Story
from tests.report.wagtail import whole_story


@pytest.fixture(scope="module")
def report() -> Report:
    return build_report(whole_story().session())


def row(report: Report, title: str, line: str = "") -> Row:
    return next(row for row in report.rows if (row.title, row.line) == (title, line))


def test_a_row_for_each_step_that_yields_a_value_and_each_of_its_lines(report: Report) -> None:
    assert [(row.title, row.line) for row in report.rows] == [
        ("Set the tone", ""),
        ("Reproduce level", ""),
        ("Record bias", "maximum"),
        ("Record bias", "3 dB beyond the maximum"),
        ("Overload lamp", "overload lamp comes on"),
        ("Overload lamp", "overload lamp goes off"),
        ("Panel meter: zero and scale", "zero"),
        ("Panel meter: zero and scale", "scale"),
        ("=1+1", ""),
    ]


def test_as_found_stands_beside_as_left_with_target_and_window(report: Report) -> None:
    level = row(report, "Reproduce level")
    assert (level.target, level.window) == ("+4.00 dBu", "+3.90 to +4.10")
    assert level.found.shown is not None
    assert level.left.shown is not None
    assert (level.found.shown.value, level.found.shown.deviation) == ("+3.400", "-0.600")
    assert (level.left.shown.value, level.left.standing) == ("+4.020", Standing.PASS)
    assert level.found.standing is Standing.FAIL


def test_a_back_off_shows_its_extremum_and_aims_at_what_that_gave(report: Report) -> None:
    peak, result = (
        row(report, "Record bias", "maximum"),
        row(report, "Record bias", "3 dB beyond the maximum"),
    )
    assert peak.found.standing is Standing.NONE
    assert peak.left.shown is not None
    assert peak.left.shown.value == "-15.900"
    assert (result.target, result.window) == ("-18.90 dBu", "-19.15 to -18.65")
    assert result.found.standing is Standing.NOT_JUDGED


def test_both_edges_of_an_indicator_are_kept(report: Report) -> None:
    on = row(report, "Overload lamp", "overload lamp comes on")
    off = row(report, "Overload lamp", "overload lamp goes off")
    assert on.left.shown is not None
    assert off.left.shown is not None
    assert (on.left.shown.value, off.left.shown.value) == ("+12.100", "+11.400")
    assert off.target == ""


def test_verdicts_of_both_passes_and_what_the_record_says(report: Report) -> None:
    assert (report.as_found.standing, report.as_left.standing) == (Standing.FAIL, Standing.PASS)
    assert report.as_found.text == "Steps: 1 pass, 3 fail, 2 not judged."
    assert report.header.recorded_verdict is Standing.PASS
    assert report.warning == ""


def test_a_value_taken_back_is_listed_with_its_successor_and_the_reason(report: Report) -> None:
    assert [(value.number, value.fate) for value in report.superseded] == [
        (10, "replaced by 11: tape was not seated")
    ]


def test_every_captured_value_is_listed_and_rounds_are_told_apart(report: Report) -> None:
    story = whole_story()
    assert [value.number for value in report.captured] == [value.number for value in story.values]
    assert [v.line for v in report.captured if v.pass_ == "adjust" and v.title.startswith("Panel")] == [
        "zero",
        "scale",
        "zero, round 2",
        "scale, round 2",
    ]


def test_a_level_as_found_is_not_said_to_lie_beyond_an_extremum(report: Report) -> None:
    lines = [value.line for value in report.captured if value.title == "Record bias"]
    assert lines == ["", "maximum", "3 dB beyond the maximum"]


def test_times_carry_their_offset_and_notes_their_time(report: Report) -> None:
    assert report.header.began.isoformat() == "2026-10-25T02:20:00+02:00"
    (note,) = report.notes
    assert (note.kind, note.text) == ("note", "Heads worn; <b>cleaned</b> twice.")
    assert note.at.utcoffset() is not None


def test_meters_references_and_rules_are_stated(report: Report) -> None:
    (meter,) = report.meters
    assert (meter.identity, meter.serial_number, meter.calibrated) == (
        "Dotterel 6-digit meter",
        "DT-0007",
        "2026-03-01",
    )
    assert meter.channels == ("output", "panel")
    assert "0 VU = +4 dBu" in report.levels
    assert "0 dBm = 1 mW in 600 ohm" in report.levels
    assert "95.45 %" in report.statements.coverage
    assert "Simple acceptance" in report.statements.decision_rule


def test_one_chart_for_each_adjustment_with_the_readings_of_its_last_attempt(report: Report) -> None:
    assert [chart.caption for chart in report.charts] == [
        "Reproduce level (output)",
        "Record bias (output)",
        "Overload lamp (output)",
        "Panel meter: zero and scale (panel)",
    ]
    level = report.charts[0].trace
    assert [mark.label for mark in level.marks] == ["11"]
    assert [point.shown is None for point in level.points].count(True) == 2
    assert [limits.target for limits in level.limits] == [pytest.approx(4.0)]


def test_an_unfinished_session_says_so_first_and_never_passes() -> None:
    story = Story()
    story.level("level", Pass.AS_FOUND, 4.0)
    report = build_report(story.session())
    assert report.warning.startswith("This session is not finished")
    assert (report.as_found.standing, report.as_left.standing) == (Standing.INCOMPLETE, Standing.INCOMPLETE)
    assert row(report, "Reproduce level").left.standing is Standing.NOT_DONE
    assert report.header.ended is None


def test_a_row_without_a_value_still_says_what_it_would_aim_at() -> None:
    report = build_report(Story().session())
    level, scale = row(report, "Reproduce level"), row(report, "Panel meter: zero and scale", "scale")
    assert (level.target, level.window) == ("+4.00 dBu", "+3.90 to +4.10")
    assert (scale.target, scale.window) == ("-100.0 mV", "-102.0 to -98.0")
    assert row(report, "=1+1").target == ""


def test_an_empty_session_has_all_rows_and_no_value() -> None:
    report = build_report(Story().session())
    assert len(report.rows) == 9
    assert {row.left.standing for row in report.rows} == {Standing.NOT_DONE}
    assert (report.captured, report.charts, report.superseded) == ((), (), ())


def test_a_skipped_step_shows_its_reason_and_leaves_the_pass_incomplete() -> None:
    story = whole_story()
    story.skip("level", Pass.AS_LEFT, "tape ran out")
    report = build_report(story.session())
    left = row(report, "Reproduce level").left
    assert (left.standing, left.reason, left.shown) == (Standing.SKIPPED, "tape ran out", None)
    assert report.as_left.standing is Standing.INCOMPLETE
    assert report.as_left.text == "Steps: 4 pass, 1 not judged, 1 skipped."
    assert "tape ran out" in [step.reason for step in report.steps]


def test_a_failure_weighs_more_than_a_step_left_out() -> None:
    story = Story()
    story.level("level", Pass.AS_LEFT, 4.3)
    story.skip("bias", Pass.ADJUST, "no tape")
    assert build_report(story.session()).as_left.standing is Standing.FAIL


def test_the_course_of_the_session_names_every_place_of_the_plan(report: Report) -> None:
    assert report.steps[0].reason == "ended early by the operator"
    assert report.steps[0].standing is Standing.DONE
    assert report.steps[-1].title == "Close the session"
    redone = next(s for s in report.steps if (s.title, s.pass_) == ("Reproduce level", "adjust"))
    assert redone.attempt == 2
    assert all(isinstance(step.ended, datetime) for step in report.steps)


def test_a_procedure_without_a_trimmer_leaves_the_unit_as_found() -> None:
    story = Story(CHECK_ONLY)
    story.capture("rail", Pass.AS_FOUND, 15.01, channel="rail", target=15.0, window=(14.775, 15.225))
    story.end("rail", Pass.AS_FOUND, Verdict.PASS)
    story.close(Verdict.PASS)
    report = build_report(story.session())
    assert (report.as_found.standing, report.as_left.standing) == (Standing.PASS, Standing.PASS)
    assert "untouched" in report.as_left.text
    assert report.rows[0].left.standing is Standing.NONE


def test_interruptions_are_noted() -> None:
    story = Story()
    story.act(ActionKind.INTERRUPTED, "the daemon was stopped")
    (note,) = build_report(story.session()).notes
    assert (note.kind, note.text) == ("interrupted", "the daemon was stopped")
