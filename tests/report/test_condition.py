"""The four words for the condition of a unit, guards that tripped, and a stored charge nobody measured."""

import csv
from dataclasses import replace
from pathlib import Path

from openpyxl import load_workbook

from meterlog.accuracy import Verdict
from meterlog.export import tables
from meterlog.export.csv_file import PLAIN, write_csv
from meterlog.export.xlsx_file import write_xlsx
from meterlog.procedure import ActionKind, Pass
from meterlog.procedure.patterns.one_level import LEFT_ALONE
from meterlog.report.build import build_report
from meterlog.report.condition import Condition, condition_of, uncharged_remark, was_left_alone
from meterlog.report.html import report_html
from meterlog.report.standing import Standing
from tests.report.story import CHECK_ONLY, Story, dbu
from tests.report.wagtail import whole_story

NEEDED = """
[procedure]
title = "Two levels"
revision = "1"
unit = "Any amplifier"
[[channel]]
name = "output"
unit = "V"
show = "dBu"
[[channel]]
name = "reservoir"
unit = "V"
coupling = "dc"
[[step]]
id = "left"
title = "Left gain"
pattern = "adjust"
only_if_needed = true
channel = "output"
target = "+4 dBu"
tolerance = "0.1 dB"
[[step]]
id = "right"
title = "Right gain"
pattern = "adjust"
only_if_needed = true
channel = "output"
target = "+4 dBu"
tolerance = "0.1 dB"
[[step]]
id = "off"
title = "Stored charge"
pattern = "power-down"
setup = "Switch off."
channel = "reservoir"
below = "10 V"
"""


def found(text: str = NEEDED) -> Story:
    story = Story(text)
    for step in ("left", "right"):
        story.level(step, Pass.AS_FOUND, 4.02)
    return story


def left(story: Story) -> Story:
    for step in ("left", "right"):
        story.level(step, Pass.AS_LEFT, 4.02)
    story.capture("off", Pass.AS_LEFT, 3.1, channel="reservoir")
    story.end("off", Pass.AS_LEFT, reason="measured 3.100 V, below 10 V for 5 s")
    story.close(Verdict.PASS)
    return story


def leave_alone(story: Story, *steps: str) -> None:
    for step in steps:
        story.level(step, Pass.ADJUST, 4.02)
        story.endings[-1] = replace(story.endings[-1], reason=LEFT_ALONE)


def test_what_was_inside_and_left_alone_is_found_left_and_its_found_values_stand() -> None:
    story = found()
    leave_alone(story, "left", "right")
    session = left(story).session()
    assert condition_of(session).word is Condition.FOUND_LEFT
    report = build_report(session)
    assert [row.left_alone for row in report.rows] == [True, True, False]
    assert report.rows[0].found.shown is not None
    assert report.rows[0].found.number == 1
    page = report_html(report)
    assert "Condition of the unit: <strong>found-left</strong>" in page
    assert page.count("<small>found-left</small>") == 2


def test_one_that_was_turned_makes_it_as_left_and_only_the_other_row_is_found_left() -> None:
    story = found()
    leave_alone(story, "left")
    story.level("right", Pass.ADJUST, 4.0)
    session = left(story).session()
    condition = condition_of(session)
    assert (condition.word, "Right gain" in condition.text, "Left gain" in condition.text) == (
        Condition.AS_LEFT,
        True,
        False,
    )
    assert [row.left_alone for row in build_report(session).rows] == [True, False, False]


def test_what_a_redo_came_back_to_is_not_called_untouched() -> None:
    story = found()
    leave_alone(story, "left", "right")
    story.redo("right", Pass.ADJUST, "slipped")
    leave_alone(story, "right")
    session = left(story).session()
    assert condition_of(session).word is Condition.AS_LEFT
    assert not was_left_alone(session, session.step("right"))
    assert was_left_alone(session, session.step("left"))


def test_what_was_skipped_half_way_is_not_called_untouched() -> None:
    story = found()
    leave_alone(story, "left")
    story.skip("right", Pass.ADJUST, "trimmer at its end")
    assert condition_of(left(story).session()).word is Condition.AS_LEFT


def test_a_procedure_without_a_trimmer_leaves_as_found() -> None:
    story = Story(CHECK_ONLY)
    story.capture("rail", Pass.AS_FOUND, 15.02, channel="rail", window=(14.775, 15.225))
    story.end("rail", Pass.AS_FOUND, Verdict.PASS)
    story.close(Verdict.PASS)
    report = build_report(story.session())
    assert (report.condition.word, report.rows[0].left_alone) == (Condition.FOUND_LEFT, True)
    assert report.rows[0].found.standing is Standing.PASS


def test_an_inoperable_unit_keeps_what_was_found() -> None:
    story = found()
    story.skip("left", Pass.ADJUST, "trimmer broken")
    story.act(ActionKind.INOPERABLE, "trimmer broken")
    story.close(Verdict.FAIL)
    report = build_report(story.session())
    assert (report.condition.word, report.condition.text) == (Condition.INOPERABLE, "trimmer broken")
    assert report.as_found.standing is Standing.PASS
    assert report.rows[0].found.shown is not None
    assert [note.kind for note in report.notes] == ["inoperable"]


def test_a_session_broken_off_before_the_first_trimmer_leaves_it_as_found() -> None:
    """Neither inside and left alone nor without a trimmer: one failed, one was done again, one skipped."""
    story = Story(NEEDED)
    story.level("left", Pass.AS_FOUND, 4.5)
    story.redo("left", Pass.AS_FOUND, "lead slipped")
    story.level("left", Pass.AS_FOUND, 4.5)
    story.act(ActionKind.BREAK_OFF, "part missing")
    story.skip("right", Pass.AS_FOUND, "part missing")
    story.close(Verdict.FAIL)
    condition = condition_of(story.session())
    assert condition.word is Condition.AS_FOUND
    assert condition.text == "Nothing was turned: the session ended before. Broken off: part missing."


def test_an_open_session_is_as_found_until_a_trimmer_is_reached() -> None:
    story = Story(NEEDED)
    story.level("left", Pass.AS_FOUND, 4.02)
    assert condition_of(story.session()).word is Condition.AS_FOUND
    story.level("right", Pass.AS_FOUND, 4.02)
    assert condition_of(story.session()).word is Condition.AS_LEFT
    assert condition_of(whole_story().session()).word is Condition.AS_LEFT


def test_a_stored_charge_that_nobody_measured_is_said_at_the_head() -> None:
    assert uncharged_remark(left(found()).session()) == ""
    assert uncharged_remark(whole_story().session()) == ""
    story = found()
    story.skip("off", Pass.AS_LEFT, "meter needed elsewhere")
    remark = "The stored charge was not measured: meter needed elsewhere (Stored charge)."
    assert remark in report_html(build_report(story.session()))
    assert uncharged_remark(found().session()) == "The stored charge was not measured (Stored charge)."


def test_guards_that_tripped_are_in_the_report_and_the_exports(tmp_path: Path) -> None:
    story = found()
    story.trip("left", Pass.ADJUST, dbu(7.0), dbu(6.0))
    story.trip("left", Pass.ADJUST, None, dbu(6.0))
    session = left(story).session()
    report = build_report(session)
    assert [(trip.guard, trip.title, trip.value, trip.limit) for trip in report.trips] == [
        ("Output drive", "Left gain", "+7.00 dBu", "+6.00 dBu"),
        ("Output drive", "Left gain", "overload", "+6.00 dBu"),
    ]
    page = report_html(report)
    assert "Guards that tripped" in page
    write_csv(tables.trips_table(session), tmp_path / "trips.csv", PLAIN)
    with (tmp_path / "trips.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    assert [row["shown value"] for row in rows] == [repr(float(rows[0]["shown value"])), ""]
    assert (rows[0]["guard"], rows[0]["step"], rows[0]["pass"]) == ("Output drive", "left", "adjust")
    assert "Guards that tripped" not in report_html(build_report(left(found()).session()))


def test_a_stability_watch_has_a_row_for_start_furthest_and_end() -> None:
    watch = (
        NEEDED.split('[[step]]\nid = "off"')[0]
        + '[[step]]\nid = "stays"\ntitle = "Stays"\npattern = "stability"\nchannel = "output"\n'
        + 'within = "0.1 dB"\ntime = "60 s"\ndrift_per_minute = "0.1 dB"\n'
    )
    story = Story(watch)
    for condition in ("at the start", "furthest from it", ""):
        story.capture("stays", Pass.ADJUST, dbu(4.0), condition=condition, window=(dbu(3.9), dbu(4.1)))
    story.end("stays", Pass.ADJUST, Verdict.PASS)
    rows = [row for row in build_report(story.session()).rows if row.title == "Stays"]
    assert [row.line for row in rows] == ["at the start", "furthest from it", "at the end"]
    assert all(row.left.standing is Standing.PASS and row.found.shown is None for row in rows)


def test_every_exported_value_carries_the_condition_of_the_unit() -> None:
    story = found()
    leave_alone(story, "left")
    story.level("right", Pass.ADJUST, 4.0)
    table = tables.settled_table(left(story).session())
    rows = [dict(zip(table.columns, row, strict=True)) for row in table.rows]
    assert {row["unit condition"] for row in rows} == {"as left"}
    assert {(row["step"], row["left alone"]) for row in rows} >= {("left", "yes"), ("right", "no")}


def test_a_workbook_has_a_sheet_for_the_trips(tmp_path: Path) -> None:
    story = found()
    story.trip("left", Pass.ADJUST, dbu(7.0), dbu(6.0))
    write_xlsx([tables.trips_table(story.session())], tmp_path / "trips.xlsx")
    assert len(load_workbook(tmp_path / "trips.xlsx").sheetnames) == 1
