"""Catching an indicator: late presses, hysteresis, a dark one, by the trimmer. Numbers are made up."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, Engine, Pass, Role, SettledValue, Sound, StepEnded
from meterlog.procedure.patterns.track import REACTION_S, Track
from tests.procedure.bench import PERIOD_S, Bench, ramp
from tests.procedure.test_load import problems
from tests.procedure.test_patterns import edges, skip_to

LAMP = """
[[step]]
id = "lamp"
title = "Lamp"
pattern = "threshold"
channel = "output"
indicator = "lamp"
target = "1 V"
tolerance = "0.5 dB"
{more}
"""


def lamp(more: str = "", *, adjust: bool = True) -> Bench:
    bench = Bench(LAMP.format(more=more))
    if adjust:
        skip_to(bench, "lamp")
    return bench


def ends(bench: Bench) -> list[StepEnded]:
    return [one for one in bench.outcomes if isinstance(one, StepEnded) and one.step == "lamp"]


def words(bench: Bench) -> str:
    return bench.engine.view().guide.do_now


def swept(db_per_s: float, reaction_s: float, lag_s: float) -> tuple[list[SettledValue], float, Bench]:
    """A lamp at 1 V, seen through a meter of this lag by somebody who sweeps up, presses and then stops."""
    bench = lamp(adjust=False)
    lights_s = 3.0

    def true_v(t: float) -> float:
        stops_s = lights_s + reaction_s
        return float(10.0 ** (db_per_s * (min(t, stops_s) - lights_s) / 20.0))

    def shown_v() -> Callable[[float], float]:
        state = [true_v(0.0)]

        def lagging(t: float) -> float:
            state[0] += (true_v(t) - state[0]) * (1.0 - math.exp(-PERIOD_S / lag_s) if lag_s else 1.0)
            return state[0]

        return lagging

    shown = shown_v()
    bench.run(lights_s + reaction_s, output=shown)
    bench.press()
    bench.run(12, output=lambda t: shown(t + lights_s + reaction_s))
    return bench.settled, true_v(99.0), bench


@pytest.mark.parametrize("lag_s", [0.0, 1.0])
def test_a_sweep_at_1_db_a_second_is_refused(lag_s: float) -> None:
    """Pressed 0.2 to 0.4 s late plus 1 s of lag it would be 1.2 to 1.4 dB out (calc); nothing is taken."""
    settled, _, bench = swept(1.0, 0.4, lag_s)
    assert settled == []
    assert "Too fast to tell" in words(bench)
    assert "small steps" in words(bench)


def test_a_sweep_at_a_tenth_of_that_is_taken_with_what_it_may_be_out() -> None:
    """0.1 dB/s is 0.12 to 0.14 dB late with 1 s of lag (calc): taken, and the uncertainty covers it."""
    (value,), level, _ = swept(0.1, 0.4, 1.0)
    assert value.value == pytest.approx(level, abs=2e-3)
    assert abs(value.value - 1.0) <= 2.0 * value.standard_uncertainty


@settings(max_examples=25, deadline=None)
@given(
    db_per_s=st.floats(0.02, 3.0),
    reaction_s=st.sampled_from([0.2, 0.4]),
    lag_s=st.sampled_from([0.0, 0.3, 1.0]),
)
def test_never_a_biased_value_without_its_uncertainty(
    db_per_s: float, reaction_s: float, lag_s: float
) -> None:
    """However fast: refused, or the lamp's true level lies within twice the standard uncertainty."""
    settled, _, _ = swept(db_per_s, reaction_s, lag_s)
    for value in settled:
        assert abs(value.value - 1.0) <= 2.0 * value.standard_uncertainty + 1e-3


def test_settled_steps_are_taken() -> None:
    bench = lamp(adjust=False)
    for number in range(8):
        bench.run(1.0, output=0.9 * 10 ** (0.15 * number / 20))
    bench.press()
    bench.run(3, output=0.9 * 10 ** (0.15 * 7 / 20))
    (value,) = bench.settled
    assert value.role is Role.LIT


def test_a_step_just_before_the_press_is_in_the_uncertainty() -> None:
    bench = lamp(adjust=False)
    bench.run(3, output=0.985)
    bench.run(0.4, output=1.0)
    bench.press()
    bench.run(3, output=1.0)
    (value,) = bench.settled
    assert value.standard_uncertainty == pytest.approx(0.015 / math.sqrt(3.0), rel=0.1)


def test_a_press_with_nothing_seen_before_it_is_refused() -> None:
    bench = lamp(adjust=False)
    bench.run(0.2, output=1.0)
    bench.press()
    bench.run(3, output=1.0)
    assert bench.settled == []
    assert "Too fast" in words(bench)


def test_going_off_too_fast_is_refused_and_comes_again() -> None:
    bench = lamp(adjust=False)
    bench.run(3, output=1.0)
    bench.press()
    bench.run(3, output=1.0)
    bench.run(1, output=ramp(1.0, 0.8, 1.0))
    bench.press()
    bench.run(4, output=0.8)
    assert [value.role for value in bench.settled] == [Role.LIT]
    assert "until the lamp is on" in words(bench)
    bench.run(2, output=1.0)
    bench.run(3, output=0.96)
    bench.press()
    bench.run(3, output=0.96)
    assert [value.role for value in bench.settled] == [Role.LIT, Role.UNLIT]


def test_hurrying_near_the_level_is_heard() -> None:
    bench = lamp(adjust=False)
    bench.run(2, output=ramp(0.85, 1.05, 2.0))
    assert bench.engine.view().guide.cue.sound is Sound.SLOW_DOWN
    bench.run(3, output=1.0)
    assert bench.engine.view().guide.cue.sound is Sound.SILENT


@pytest.mark.parametrize(("unlit", "verdict"), [(0.97, Verdict.PASS), (0.9, Verdict.FAIL)])
def test_hysteresis_is_shown_and_judged(unlit: float, verdict: Verdict) -> None:
    """1 V to 0.9 V are 0.92 dB (calc). No trimmer changes what lies between, so the step ends there."""
    bench = lamp('hysteresis = "0.5 dB"')
    edges(bench, 1.0, unlit)
    (_, end) = ends(bench) if len(ends(bench)) == 2 else (None, ends(bench)[-1])
    assert end.verdict is verdict
    assert "dB between on and off" in end.reason
    assert ("0.5 dB at most" in end.reason) is (verdict is Verdict.FAIL)


def test_going_off_above_where_it_came_on_is_no_hysteresis() -> None:
    bench = lamp('hysteresis = "3 dB"')
    edges(bench, 1.0, 1.3)
    assert ends(bench)[-1].verdict is Verdict.FAIL
    assert "went off above where it came on" in ends(bench)[-1].reason


def test_an_indicator_without_hysteresis_passes() -> None:
    bench = lamp('hysteresis = "0.5 dB"')
    edges(bench, 1.0, 1.0)
    assert ends(bench)[-1].verdict is Verdict.PASS


def test_on_by_45_off_by_35() -> None:
    """As manuals state it, in dBf about 40: both edges have to lie inside 35 to 45; here in mV about 1 V."""
    bench = lamp('off_target = "1 V"\noff_tolerance = "50 mV"')
    edges(bench, 1.0, 0.93)
    assert "went off too low" in words(bench)
    bench.press()
    edges(bench, 1.05, 0.96)
    assert ends(bench)[-1].verdict is Verdict.PASS
    off = [value for value in bench.settled if value.role is Role.UNLIT]
    assert [value.verdict for value in off] == [Verdict.FAIL, Verdict.PASS]
    assert off[0].target == 1.0


def test_edges_that_no_setting_fits_end_it() -> None:
    bench = lamp('off_target = "0.95 V"\noff_tolerance = "10 mV"')
    edges(bench, 1.0, 0.6)
    assert ends(bench)[-1].verdict is Verdict.FAIL
    assert "no setting fits both" in ends(bench)[-1].reason


def test_dark_as_found_ends_by_itself_and_says_why() -> None:
    bench = lamp('no_higher_than = "1.5 V"', adjust=False)
    bench.run(3, output=ramp(0.5, 1.5, 2.0))
    assert "No higher than 1.5 V" in words(bench)
    bench.run(5, output=1.5)
    (end,) = ends(bench)
    assert (end.pass_, end.verdict) == (Pass.AS_FOUND, Verdict.FAIL)
    assert end.reason == "the lamp did not come on up to 1.5 V"
    assert bench.settled == []


def test_dark_in_the_adjust_pass_may_be_trimmed_once() -> None:
    bench = lamp('no_higher_than = "1.5 V"')
    bench.run(3, output=ramp(0.5, 1.5, 2.0))
    bench.run(5, output=1.5)
    assert "stayed dark up to 1.5 V. Trim it" in words(bench)
    bench.run(2, output=0.5)
    bench.press()
    bench.run(3, output=ramp(0.5, 1.5, 2.0))
    bench.run(5, output=1.5)
    assert ends(bench)[-1].verdict is Verdict.FAIL


def test_dark_before_an_interruption_is_not_dark_again() -> None:
    bench = lamp('no_higher_than = "1.5 V"')
    bench.run(3, output=ramp(0.5, 1.5, 2.0))
    bench.run(5, output=1.5)
    bench.act(ActionKind.INTERRUPTED)
    bench.run(8, output=1.5)
    assert "stayed dark up to 1.5 V. Trim it" in words(bench)
    assert all(end.pass_ is not Pass.ADJUST for end in ends(bench))


def test_a_failed_edge_as_found_stays_failed_where_the_step_is_left() -> None:
    bench = lamp(adjust=False)
    bench.run(3, output=ramp(0.5, 0.8, 2.0))
    bench.press()
    bench.run(3, output=0.8)
    bench.act(ActionKind.BREAK_OFF, "seen enough")
    assert ends(bench)[-1].verdict is Verdict.FAIL


def test_a_slow_lamp_has_its_delay() -> None:
    """Delays of 0.1 s on and 2.0 s off occur: so long the level must have been there before the press."""
    bench = lamp('delay = "2 s"', adjust=False)
    bench.run(3, output=0.9)
    bench.run(1.6, output=1.0)
    bench.press()
    bench.run(4, output=1.0)
    assert bench.settled == [], "the level changed within the two seconds before the press"
    bench.run(3, output=1.0)
    bench.press()
    bench.run(4, output=1.0)
    assert len(bench.settled) == 1


def test_by_the_trimmer_at_the_target_then_both_edges() -> None:
    bench = lamp('by = "trimmer"')
    assert "Bring the level to the target" in words(bench)
    bench.run(4, output=1.0)
    assert "Turn the trimmer" in words(bench)
    bench.run(3, output=0.8)
    assert "Bring the level to the target" in words(bench), "it has left the window"
    bench.run(4, output=1.0)
    bench.press()
    edges(bench, 1.2, 1.1)
    assert bench.engine.view().guide.round == 2
    bench.run(4, output=1.0)
    bench.press()
    edges(bench, 1.0, 0.97)
    assert ends(bench)[-1].verdict is Verdict.PASS


@pytest.mark.parametrize(
    ("more", "complaint"),
    [
        ('off_target = "1 V"', "belong together"),
        ('off_target = "1 V"\noff_tolerance = "0.1 dB"\nhysteresis = "0.5 dB"', "not both"),
        ('no_higher_than = "1.01 V"', "above the window"),
        ('no_higher_than = "20 Hz"', "no level in V"),
        ('hysteresis = "2 Hz"', "does not fit"),
        ('by = "ear"', "by"),
    ],
)
def test_bad_input(more: str, complaint: str) -> None:
    assert any(complaint in str(problem) for problem in problems(LAMP.format(more=more)))


def test_track_is_endless_where_the_beginning_was_not_seen() -> None:
    track = Track(REACTION_S)
    track.see(0.0, 1.0)
    track.press(0.2)
    assert track.way == math.inf
    track.clear()
    for number in range(6):
        track.see(0.2 * number, 1.0 + 0.01 * number)
    track.press(1.0)
    assert track.way == pytest.approx(0.03)


def test_replay_gives_the_same_to_the_last_bit() -> None:
    bench = lamp('hysteresis = "0.5 dB"')
    edges(bench, 1.0, 0.97)
    engine = Engine(bench.engine.procedure)
    assert [outcome for event in bench.events for outcome in engine.apply(event)] == bench.outcomes
