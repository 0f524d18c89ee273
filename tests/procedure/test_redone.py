"""What a redo, a skip or an absence takes back, and what an early end keeps. The levels are made up."""

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, IllegalAction, Pass, SessionEnded, reopened_by
from tests.procedure.bench import Bench, ramp
from tests.procedure.test_patterns import ADJUST, PLUS_4_DBU, skip_to
from tests.procedure.test_relative import DOWN_3_DB, TONE

MORE = DOWN_3_DB.replace('"corner"', '"more"')
WIDE_TONE = TONE.replace('tolerance = "1 dB"', 'tolerance = "3 dB"')


def test_as_found_is_not_overwritten_once_something_may_have_been_turned() -> None:
    bench = Bench(ADJUST)
    bench.run_to(1, output=1.0)
    bench.run(0.4, output=1.1)
    assert bench.engine.redo_place == 1
    with pytest.raises(IllegalAction, match="as found stays as it was found"):
        bench.act(ActionKind.REDO, "doubt", place=0)
    bench.act(ActionKind.REDO, "again")
    assert bench.engine.place == 1
    assert [value.value for value in bench.settled] == [pytest.approx(1.0, rel=1e-3)]


def test_what_rests_on_a_redone_step_is_done_again() -> None:
    bench = Bench(WIDE_TONE + DOWN_3_DB + MORE)
    bench.run_to(1, panel=0.100, output=0.0708)
    bench.run_to(2, panel=0.100, output=0.0708)
    assert bench.settled[-1].verdict is Verdict.PASS
    bench.act(ActionKind.REDO, "the tone had changed", place=0)
    bench.run(4, panel=0.120, output=0.0708)
    corners = [value for value in bench.settled if value.step == "corner"]
    assert [value.verdict for value in corners] == [Verdict.PASS, Verdict.FAIL]
    assert corners[1].replaces == corners[0].number


def test_what_a_skipped_step_had_taken_serves_nobody() -> None:
    bench = Bench(WIDE_TONE + DOWN_3_DB)
    bench.run_to(1, panel=0.100, output=0.0708)
    bench.act(ActionKind.REDO, "no tone", place=0)
    bench.act(ActionKind.SKIP, "no tone")
    bench.run(4, output=0.0708)
    assert "tone came to no value" in bench.engine.view().guide.do_now


def test_a_reference_of_nothing_gives_no_decibels() -> None:
    zero = TONE.replace('target = "100 mV"', 'target = "0 mV"').replace('"1 dB"', '"1 mV"')
    bench = Bench(zero + DOWN_3_DB, noise=0.0)
    bench.run_to(1, panel=0.0)
    assert "tone came to no value" in bench.engine.view().guide.do_now


def test_a_setup_has_to_be_confirmed_anew_after_an_absence_but_not_after_a_pause() -> None:
    bench = Bench(ADJUST + 'setup = "Probe on TP3."\n')
    bench.press()
    bench.act(ActionKind.PAUSE)
    bench.press()
    assert not bench.engine.view().guide.awaiting_go_on
    bench.act(ActionKind.INTERRUPTED)
    assert bench.engine.view().guide.do_now.startswith("Probe on TP3.")
    bench.run(6, output=PLUS_4_DBU)
    assert not bench.settled


def test_an_ended_session_shows_the_verdict_it_ended_with() -> None:
    bench = Bench(ADJUST)
    bench.act(ActionKind.INOPERABLE, "dead")
    assert bench.engine.view().verdict is Verdict.FAIL


def test_a_failure_is_not_lost_when_the_look_after_it_is_skipped() -> None:
    bench = Bench(ADJUST)
    skip_to(bench, "level")
    bench.run(13, output=ramp(0.9, 1.0, 2.0))
    bench.press()  # goes no further
    bench.act(ActionKind.SKIP, "short of time")
    ended = bench.press()[-1]
    assert isinstance(ended, SessionEnded)
    assert ended.verdict is Verdict.FAIL


def test_a_failure_as_found_is_kept_when_the_session_ends_before_it_was_mended() -> None:
    bench = Bench(ADJUST + ADJUST.replace('"level"', '"second"'))
    bench.run_to(2, output=1.0)
    bench.run_to(3, output=PLUS_4_DBU)
    ended = bench.act(ActionKind.BREAK_OFF, "a part is missing")[-1]
    assert isinstance(ended, SessionEnded)
    assert ended.verdict is Verdict.FAIL, "the second one was never brought inside"


def test_the_plan_says_what_a_redo_opens_again() -> None:
    bench = Bench(TONE + ADJUST + DOWN_3_DB)
    places = {(planned.step.id, planned.pass_): planned.place for planned in bench.engine.plan}
    tone = reopened_by(bench.engine.plan, places["tone", Pass.AS_FOUND])
    assert tone == {places["corner", Pass.AS_FOUND]}
    level = reopened_by(bench.engine.plan, places["level", Pass.ADJUST])
    assert level == {planned.place for planned in bench.engine.plan if planned.pass_ is Pass.AS_LEFT}
