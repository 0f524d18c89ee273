"""What a report says beside its results; ISO/IEC 17025:2017, 7.8.2 to 7.8.6 name what belongs there."""

from datetime import datetime
from pathlib import Path

import pytest
from sqlalchemy import Engine

from meterlog.accuracy.fitness import Fit, Fitness
from meterlog.bench import load_bench_text
from meterlog.daemon import fit
from meterlog.procedure import ActionKind, Pass, StepFit
from meterlog.quantity import Unit
from meterlog.records.session import BenchUsed
from meterlog.report import open_session
from meterlog.report.build import build_report
from meterlog.report.deviations import OVERRIDES
from meterlog.report.html import report_html
from meterlog.report.model import Issue
from meterlog.report.typography import figure
from tests.report.recorded import Recorded, new_record
from tests.report.story import BENCH, PROCEDURE, SUMMER, Story
from tests.report.wagtail import whole_story

SPECIFICATION = Path("config/meters/bench-6.5-digits.toml").read_text(encoding="utf-8")
LABORATORY = '[laboratory]\nname = "Bench & Sons"\naddress = "1 Mill Lane"\n'
GATE = """
[[step]]
id = "gate"
title = "Before the cover comes off"
pattern = "safety"
confirm = ["The unit is switched off.", "The supply lead is out."]
"""


@pytest.fixture
def engine(tmp_path: Path) -> Engine:
    return new_record(tmp_path)


def test_the_meters_say_by_what_they_were_taken_and_how_old_their_calibration_was() -> None:
    """METER was calibrated on 1 March 2026, the session is of 25 October: 238 days."""
    story = Story(specifications={"bench meter": SPECIFICATION})
    (meter,) = build_report(story.session()).meters
    assert meter.specification.startswith("Bench meter")
    assert len(meter.specification_digest) == 64
    assert meter.age == "238 days before"
    assert meter.specification_digest in report_html(build_report(story.session()))


def test_a_calibration_older_than_the_specification_holds_is_remarked_on() -> None:
    head, _, dc = SPECIFICATION.partition('coupling = "dc"')
    short = head + 'coupling = "dc"' + dc.replace("days = 365", "days = 90", 1)
    (meter,) = build_report(Story(specifications={"bench meter": short}).session()).meters
    assert meter.age == "238 days before; its specification holds for 90"


def test_the_uncertainty_says_which_meters_it_does_not_know() -> None:
    bare = build_report(Story().session()).statements.coverage
    assert "No specification is on record for bench meter" in bare
    known = build_report(Story(specifications={"bench meter": SPECIFICATION}).session()).statements.coverage
    assert "No specification" not in known


def test_an_override_stands_at_the_head_and_not_among_the_notes() -> None:
    story = Story()
    story.act(ActionKind.NOTE, "Heads worn.")
    story.act(ActionKind.NOTE, f"{OVERRIDES[0]}no other at hand (level: 'bench meter' is not adequate)")
    report = build_report(story.session())
    assert len(report.overrides) == 1
    assert len(report.notes) == 1
    page = report_html(report)
    assert page.index("Begun all the same") < page.index("<h2>As found</h2>")


def test_skips_redos_and_what_was_left_out_are_listed_in_order_of_time() -> None:
    story = whole_story()
    story.skip("noise", Pass.AS_LEFT, "no tape")
    story.act(ActionKind.SKIP_ROW, "20 Hz")
    report = build_report(story.session())
    assert [(one.what, one.where, one.reason) for one in report.deviations] == [
        ("step done again", "Reproduce level, adjust", "tape was not seated"),
        ("step left out", "=1+1, as left", "no tape"),
        ("row left out", "", "20 Hz"),
    ]


def test_a_session_broken_off_is_told_once() -> None:
    story = Story()
    story.act(ActionKind.BREAK_OFF, "power failed")
    story.now_s -= 1.0
    story.skip("tone", Pass.AS_FOUND, "power failed")
    deviations = build_report(story.session()).deviations
    assert [one.what for one in deviations] == ["session broken off"]


def test_cautions_are_listed_once_they_were_confirmed() -> None:
    story = Story(PROCEDURE.replace("[[step]]", GATE + "[[step]]", 1))
    assert build_report(story.session()).cautions == ()
    story.end("gate", Pass.AS_FOUND)
    (gate,) = build_report(story.session()).cautions
    assert gate.confirmed == ("The unit is switched off.", "The supply lead is out.")


def test_laboratory_customer_and_issue_stand_on_it_or_are_said_to_be_left_out() -> None:
    plain = build_report(Story().session())
    assert plain.statements.left_out[:2] == ("name and address of the laboratory", "the customer")
    story = Story(bench=LABORATORY + BENCH)
    issue = Issue(datetime(2026, 10, 26, 9, 0, tzinfo=SUMMER), "A. Customer, 2 Hill Road")
    report = build_report(story.session(), issue)
    assert report.statements.left_out == (
        "the day the unit was received",
        "the temperature",
        "the humidity",
    )
    page = report_html(report)
    for text in ("Bench &amp; Sons", "1 Mill Lane", "A. Customer, 2 Hill Road", "2026-10-26 09:00:00 +02:00"):
        assert text in page


def test_a_bench_file_may_name_the_laboratory() -> None:
    assert (
        load_bench_text(LABORATORY + BENCH.rpartition("[[channel]]")[0], "bench.toml").name
        == "Bench by the window"
    )


def test_results_relate_only_to_the_unit_and_windows_are_those_of_the_procedure() -> None:
    page = report_html(build_report(Story().session()))
    assert "The results relate only to the unit named above" in page
    assert "The windows are those of the procedure named above, revision 3." in page
    assert "End of the report, session 12, unit W12-0042." in page


def test_a_specification_on_record_is_in_the_uncertainty_and_its_budget(engine: Engine) -> None:
    """238 days after calibration the row for a year holds: 0.004 % of 15 V and 0.0008 % of the 1000 V range,
    whose count of 1 mV the readings show, both as bounds: 0.6 mV and 8 mV over the root of three
    (JCGM 100:2008, 4.3.7)."""
    bench = BenchUsed(
        since_sequence=0,
        text=BENCH.replace('name = "panel"', 'name = "rail"'),
        specifications={"bench meter": SPECIFICATION},
    )
    with Recorded(engine, bench=bench) as session:
        session.settle_at(15.0)
        session.go_on()
    (budget,) = build_report(open_session(engine, session.id)).budgets
    found = {line.source: line for line in budget.lines}
    for source, contribution_v in (
        ("meter, share of the reading", 3.5e-4),
        ("meter, range and counts", 4.6e-3),
    ):
        assert found[source].distribution == "rectangular"
        assert found[source].contribution == figure(contribution_v)
    assert found["meter, share of the reading"].sensitivity == "15.0"


def test_the_digest_ties_a_report_to_its_results(engine: Engine) -> None:
    with Recorded(engine) as session:
        session.settle_at(15.0)
    first = open_session(engine, session.id).results_digest
    assert first == open_session(engine, session.id).results_digest
    with Recorded(engine) as other:
        other.settle_at(15.01)
    assert open_session(engine, other.id).results_digest != first
    assert first in report_html(build_report(open_session(engine, session.id)))


def test_the_daemons_note_of_an_override_is_one(monkeypatch: pytest.MonkeyPatch) -> None:
    unfit = StepFit(
        step="level", title="Level", part="", channel="output", meter="bench meter", unit=Unit.VOLT,
        level=None, frequency_hz=None, assumed=False, profile="",
        fitness=Fitness(fit=Fit.NOT_ADEQUATE, why="its band ends before"),
    )  # fmt: skip
    monkeypatch.setattr(fit, "step_fits", lambda *_: [unfit])
    story = Story()
    bench = load_bench_text(BENCH.rpartition("[[channel]]")[0], "bench.toml")
    for note in fit.notes_of_override(bench, story.procedure, "no other at hand"):
        story.act(ActionKind.NOTE, note)
    (override,) = build_report(story.session()).overrides
    assert "no other at hand (level: 'bench meter' is not adequate, its band ends before)" in override
