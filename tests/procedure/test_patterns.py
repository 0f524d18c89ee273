"""Each pattern on a bench without wires: what ends it, what it keeps, what it refuses."""

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import (
    ActionKind,
    Engine,
    IllegalAction,
    Pass,
    Role,
    SessionState,
    StepEnded,
    StepState,
    Ticked,
)
from meterlog.quantity import parse_quantity, ratio_from_db
from tests.procedure.bench import Bench, hump, ramp

PLUS_4_DBU = 1.227652988  # V; 0 dBu = sqrt(0.6) V, ITU-R V.574 / IEC 60027-3
ADJUST = """
[[step]]
id = "level"
title = "Level"
pattern = "adjust"
channel = "output"
target = "+4 dBu"
tolerance = "0.1 dB"
"""


def skip_to(bench: Bench, step: str, pass_: Pass = Pass.ADJUST) -> None:
    while (bench.engine.plan[bench.engine.place].step.id, bench.engine.plan[bench.engine.place].pass_) != (
        step,
        pass_,
    ):
        bench.act(ActionKind.SKIP, "not part of this test")


def adjust_end(bench: Bench, step: str) -> StepEnded:
    ends = [outcome for outcome in bench.outcomes if isinstance(outcome, StepEnded)]
    (end,) = [end for end in ends if (end.step, end.pass_) == (step, Pass.ADJUST)]
    return end


def test_adjust_is_measured_as_found_adjusted_and_measured_as_left() -> None:
    bench = Bench(ADJUST)
    bench.run(4, output=1.0)
    bench.run(6, output=ramp(1.0, PLUS_4_DBU, 1.0))
    bench.run(4, output=PLUS_4_DBU)
    found, adjusted, left = bench.settled
    assert (found.pass_, found.role, found.verdict) == (Pass.AS_FOUND, Role.MEASURED, Verdict.FAIL)
    assert found.value == pytest.approx(1.0, abs=2e-4)
    assert (adjusted.pass_, adjusted.role, adjusted.verdict) == (Pass.ADJUST, Role.ADJUSTED, Verdict.PASS)
    assert (left.pass_, left.verdict) == (Pass.AS_LEFT, Verdict.PASS)
    assert left.low == pytest.approx(PLUS_4_DBU * ratio_from_db(-0.1))
    assert left.high == pytest.approx(PLUS_4_DBU * ratio_from_db(0.1))


def test_adjust_does_not_take_a_value_that_only_passes_through_the_window() -> None:
    bench = Bench(ADJUST)
    skip_to(bench, "level")
    bench.run(6, output=ramp(1.0, 1.5, 6.0))
    bench.run(6, output=1.5)
    assert bench.settled == []
    assert bench.engine.view().step_state is StepState.SETTLED


def test_pedal_outside_the_window_is_refused_and_changes_nothing() -> None:
    bench = Bench(ADJUST)
    skip_to(bench, "level")
    bench.run(5, output=1.0)
    before = bench.engine.view()
    with pytest.raises(IllegalAction, match="not settled inside"):
        bench.press()
    assert bench.engine.view() == before


def test_pedal_inside_the_window_ends_the_hold_early() -> None:
    bench = Bench(ADJUST.replace('tolerance = "0.1 dB"', 'tolerance = "0.1 dB"\nhold = "60 s"'))
    skip_to(bench, "level")
    bench.run(5, output=PLUS_4_DBU)
    bench.press()
    assert [value.role for value in bench.settled] == [Role.ADJUSTED]


def test_setup_waits_for_the_pedal_and_readings_before_it_are_no_evidence() -> None:
    bench = Bench(ADJUST.replace('title = "Level"', 'title = "Level"\nsetup = "Play the tape."'))
    bench.run(10, output=PLUS_4_DBU)
    assert bench.settled == []
    view = bench.engine.view()
    assert view.guide.awaiting_go_on
    assert "Play the tape." in view.guide.do_now
    bench.press()
    bench.run(4, output=PLUS_4_DBU)
    assert len(bench.settled) == 1


def test_held_display_is_never_captured_and_says_so() -> None:
    bench = Bench(ADJUST)
    from meterlog.procedure import Measured

    for _ in range(50):
        bench.now_s += 0.2
        reading = bench.reading("output", PLUS_4_DBU, flags=frozenset({"hold"}))
        bench.give(Measured(round(bench.now_s * 1e9), reading))
    assert bench.settled == []
    assert "HOLD" in bench.engine.view().guide.why_not


EXTREMUM = """
[[step]]
id = "azimuth"
title = "Azimuth"
pattern = "extremum"
channel = "output"
extremum = "maximum"
bracket = "1 dB"
tolerance = "0.3 dB"
settle = "0.15 dB"
"""


def test_extremum_needs_both_sides_and_the_way_back() -> None:
    bench = Bench(EXTREMUM)
    skip_to(bench, "azimuth")
    bench.run(6, output=hump(1.0, 6.0, 6.0))
    bench.run(3, output=1.0)
    assert bench.settled == [], "one side is not enough"
    bench.run(4, output=hump(1.0, 6.0, 0.0))
    bench.run(5, output=lambda t: hump(1.0, 6.0, 4.0)(min(t, 4.0)))
    bench.run(4, output=1.0)
    peak, kept = bench.settled
    assert (peak.role, kept.role, kept.verdict) == (Role.PEAK, Role.ADJUSTED, Verdict.PASS)
    assert peak.value == pytest.approx(1.0, rel=2e-3)
    assert kept.high is None, "higher than the peak is no fault"


def test_a_level_that_only_fell_asks_for_the_other_side_and_the_pedal_searches_afresh() -> None:
    bench = Bench(EXTREMUM)
    skip_to(bench, "azimuth")
    bench.run(6, output=ramp(3.0, 0.4, 5.0))
    assert "Press to search afresh" in bench.engine.view().guide.do_now
    bench.press()
    bench.run(12, output=hump(1.0, 6.0, 6.0))
    bench.run(5, output=lambda t: hump(1.0, 6.0, 4.0)(min(t, 4.0)))
    bench.run(4, output=1.0)
    peak, kept = bench.settled
    assert peak.value == pytest.approx(1.0, rel=2e-3)
    assert kept.verdict is Verdict.PASS


BACK_OFF = """
[[step]]
id = "bias"
title = "Bias"
pattern = "back-off"
channel = "output"
extremum = "maximum"
side = "rising bias only"
bracket = "0.5 dB"
fall = "3 dB"
tolerance = "0.25 dB"
"""


def bias_curve(position: float) -> float:
    """A level that rises to 1 V at position 1 and falls beyond, 3 dB down near 1.59."""
    return hump(1.0, 1.0, 1.0)(position)


POSITION_3_DB_DOWN = 1.0 + (3 / 20 * 2.302585) ** 0.5  # of exp(-x**2)


def test_back_off_stops_three_decibels_beyond_the_peak() -> None:
    bench = Bench(BACK_OFF)
    skip_to(bench, "bias")
    bench.run(10, output=lambda t: bias_curve(min(0.16 * t, POSITION_3_DB_DOWN)))
    bench.run(5, output=bias_curve(POSITION_3_DB_DOWN))
    peak, kept = bench.settled
    assert kept.verdict is Verdict.PASS
    assert kept.target == pytest.approx(peak.value * 0.707945784, rel=1e-6)  # -3 dB, levels/level_constants
    assert kept.value == pytest.approx(0.7079, rel=0.01)


def test_back_off_sends_the_hand_back_over_the_peak_when_it_went_too_far() -> None:
    bench = Bench(BACK_OFF)
    skip_to(bench, "bias")
    bench.run(12, output=lambda t: bias_curve(min(0.16 * t, 1.8)))
    assert bench.settled == []
    assert "Too far" in bench.engine.view().guide.do_now
    bench.run(4, output=bias_curve(POSITION_3_DB_DOWN))
    assert bench.settled == [], "coming from below leaves the backlash on the wrong side"
    bench.run(6, output=lambda t: bias_curve(max(1.0, POSITION_3_DB_DOWN - 0.2 * t)))
    bench.run(8, output=lambda t: bias_curve(min(1.0 + 0.16 * t, POSITION_3_DB_DOWN)))
    assert [value.role for value in bench.settled] == [Role.PEAK, Role.ADJUSTED]


THRESHOLD = """
[[step]]
id = "lamp"
title = "Lamp"
pattern = "threshold"
channel = "output"
indicator = "lamp"
target = "1 V"
tolerance = "0.5 dB"
"""


def edges(bench: Bench, lit: float, unlit: float) -> None:
    bench.run(3, output=ramp(0.5, lit, 2.0))
    bench.press()
    bench.run(3, output=lit)
    bench.run(3, output=ramp(lit, unlit, 2.0))
    bench.press()
    bench.run(3, output=unlit)


def test_threshold_keeps_both_edges_and_trims_until_the_lit_edge_fits() -> None:
    bench = Bench(THRESHOLD)
    skip_to(bench, "lamp")
    edges(bench, 0.8, 0.77)
    assert "too early" in bench.engine.view().guide.do_now
    bench.press()
    edges(bench, 1.01, 0.97)
    lit_1, unlit_1, lit_2, unlit_2 = bench.settled
    assert [lit_1.verdict, lit_2.verdict] == [Verdict.FAIL, Verdict.PASS]
    assert [lit_1.round, lit_2.round] == [1, 2]
    assert (unlit_1.role, unlit_1.verdict) == (Role.UNLIT, Verdict.NOT_JUDGED)
    assert unlit_2.value == pytest.approx(0.97, abs=1e-3)


def test_threshold_as_found_ends_after_one_round() -> None:
    bench = Bench(THRESHOLD)
    edges(bench, 0.8, 0.77)
    ended = [outcome for outcome in bench.outcomes if isinstance(outcome, StepEnded)]
    assert [(end.pass_, end.verdict) for end in ended] == [(Pass.AS_FOUND, Verdict.FAIL)]


ALTERNATE = """
[[step]]
id = "meter"
title = "Meter"
pattern = "alternate"
rounds = 4
[[step.condition]]
name = "zero"
setup = "Tone off."
channel = "panel"
target = "0 mV"
tolerance = "2 mV"
[[step.condition]]
name = "scale"
setup = "Tone on."
channel = "panel"
target = "200 mV"
tolerance = "4 mV"
"""


def condition(bench: Bench, first: float, then: float) -> None:
    bench.press()
    bench.run(3, panel=first)
    bench.run(1, panel=ramp(first, then, 1.0))
    bench.run(4, panel=then)


def test_alternate_ends_after_one_pass_in_which_nothing_was_touched() -> None:
    bench = Bench(ALTERNATE)
    skip_to(bench, "meter")
    condition(bench, 0.010, 0.0)
    condition(bench, 0.230, 0.2)
    condition(bench, 0.004, 0.0)
    condition(bench, 0.2, 0.2)
    assert bench.engine.view().guide.round == 3, "round 2 had a touch"
    condition(bench, 0.0, 0.0)
    condition(bench, 0.2, 0.2)
    assert [value.round for value in bench.settled] == [1, 1, 2, 2, 3, 3]
    end = adjust_end(bench, "meter")
    assert end.verdict is Verdict.PASS


def test_alternate_that_does_not_converge_fails_and_says_so() -> None:
    bench = Bench(ALTERNATE)
    skip_to(bench, "meter")
    for _ in range(4):
        condition(bench, 0.010, 0.0)
        condition(bench, 0.230, 0.2)
    end = adjust_end(bench, "meter")
    assert end.verdict is Verdict.FAIL
    assert "within 4 rounds" in end.reason


def test_alternate_as_found_measures_everything_again_after_an_interruption() -> None:
    bench = Bench(ALTERNATE)
    bench.press()
    bench.run(3, panel=0.0)
    bench.act(ActionKind.INTERRUPTED)
    assert "Tone off." in bench.engine.view().guide.do_now, "zero may have been moved meanwhile"
    bench.press()
    bench.run(3, panel=0.010)
    bench.press()
    bench.run(3, panel=0.2)
    (end,) = [outcome for outcome in bench.outcomes if isinstance(outcome, StepEnded)]
    assert (end.pass_, end.verdict) == (Pass.AS_FOUND, Verdict.FAIL)


def test_alternate_does_not_count_a_round_that_was_interrupted() -> None:
    bench = Bench(ALTERNATE)
    skip_to(bench, "meter")
    for _ in range(4):
        condition(bench, 0.010, 0.0)
        bench.act(ActionKind.INTERRUPTED)
    assert bench.engine.view().guide.round == 1
    condition(bench, 0.0, 0.0)
    condition(bench, 0.2, 0.2)
    assert adjust_end(bench, "meter").verdict is Verdict.PASS


WARM_UP = """
[[step]]
id = "warm"
title = "Warm up"
pattern = "warm-up"
time = "20 s"
channel = "output"
drift_per_minute = "0.1 dB"
"""


def test_warm_up_needs_the_time_and_the_drift() -> None:
    bench = Bench(WARM_UP + ADJUST)
    bench.run(24, output=ramp(1.0, 1.2, 24.0))
    assert bench.engine.place == 0, "0.2 V in 24 s is far more than 0.1 dB a minute"
    bench.run(120, output=1.2)
    assert bench.engine.place > 0


def test_warm_up_can_be_ended_early_and_the_record_says_so() -> None:
    bench = Bench(WARM_UP + ADJUST)
    bench.run(2, output=1.0)
    (end,) = bench.press()
    assert isinstance(end, StepEnded)
    assert end.reason == "ended early by the operator; 2 s of 20 s; drift not known, limit 0.1 dB"


def test_warm_up_counts_no_time_before_an_interruption() -> None:
    bench = Bench(WARM_UP + ADJUST)
    bench.run(15, output=1.0)
    bench.now_s += 3600.0
    bench.act(ActionKind.INTERRUPTED)
    bench.run(19, output=1.0)
    assert bench.engine.place == 0
    bench.run(5, output=1.0)
    assert bench.engine.place > 0


def test_warm_up_by_the_clock_alone_asks_for_the_pedal_after_an_interruption() -> None:
    by_clock = WARM_UP.replace('channel = "output"\ndrift_per_minute = "0.1 dB"\n', "")
    bench = Bench(by_clock + ADJUST)
    bench.run(10)
    bench.now_s += 3600.0
    bench.act(ActionKind.INTERRUPTED)
    bench.run(30)
    guide = bench.engine.view().guide
    assert (bench.engine.place, guide.awaiting_go_on) == (0, True)
    assert "Its 20 s begin anew when you press" in guide.do_now
    bench.press()
    bench.run(19)
    assert bench.engine.place == 0
    bench.run(2)
    assert bench.engine.place > 0
    # a tick is kept only if something came out of it
    kept = [e for e in bench.events if not isinstance(e, Ticked)]
    ends = [outcome for outcome in bench.outcomes if isinstance(outcome, StepEnded)]
    again = Engine(bench.engine.procedure)
    assert [o for e in [*kept, Ticked(ends[0].at_ns)] for o in again.apply(e)] == bench.outcomes


def test_measure_without_target_is_recorded_and_not_judged() -> None:
    bench = Bench(
        '[[step]]\nid = "rail"\ntitle = "Rail"\npattern = "measure"\nchannel = "output"\nsettle = "5 mV"\n'
    )
    bench.run(4, output=1.0)
    (value,) = bench.settled
    assert (value.pass_, value.verdict, value.target) == (Pass.AS_FOUND, Verdict.NOT_JUDGED, None)


def test_session_closes_after_the_last_press() -> None:
    bench = Bench(ADJUST)
    bench.run(3, output=PLUS_4_DBU)
    bench.run(6, output=PLUS_4_DBU)
    bench.run(3, output=PLUS_4_DBU)
    assert bench.engine.view().step == "close"
    bench.press()
    assert bench.engine.state is SessionState.ENDED
    assert bench.engine.verdict() is Verdict.PASS
    assert parse_quantity("+4 dBu").base == pytest.approx(PLUS_4_DBU)
