"""What once went wrong: each a case in which a wrong value or verdict came out, or might have."""

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, Engine, IllegalAction, Measured, Pass, Role, StepState
from tests.procedure.bench import NS, Bench, hump, ramp
from tests.procedure.test_patterns import (
    ADJUST,
    BACK_OFF,
    EXTREMUM,
    PLUS_4_DBU,
    THRESHOLD,
    WARM_UP,
    skip_to,
)


def test_back_off_aims_anew_when_a_higher_peak_follows_a_false_one() -> None:
    bench = Bench(BACK_OFF)
    skip_to(bench, "bias")
    bench.run(10, output=lambda t: 0.5 * hump(1.0, 2.0, 4.0)(min(t, 6.0)))
    bench.run(8, output=ramp(0.2, 1.0, 8.0))
    bench.run(2, output=1.0)
    bench.run(6, output=ramp(1.0, 0.35, 6.0))
    bench.run(5, output=0.354)
    assert bench.settled == [], "9 dB below the true peak is not 3 dB below it"


def test_extremum_is_not_accepted_on_the_flank_of_a_higher_peak() -> None:
    bench = Bench(EXTREMUM)
    skip_to(bench, "azimuth")
    bench.run(8, output=lambda t: 0.4 * hump(1.0, 3.0, 4.0)(t))
    bench.run(4, output=ramp(0.08, 0.8, 4.0))
    bench.run(8, output=0.8)
    assert bench.settled == [], "the other side of the higher one was never seen"


def test_a_later_turn_of_a_trimmer_reopens_what_was_measured_as_left() -> None:
    bench = Bench(ADJUST)
    bench.run_to(3, output=PLUS_4_DBU)
    bench.act(ActionKind.REDO, "once more", place=1)
    left = bench.engine.view().plan[2]
    assert (left.pass_, left.state, left.verdict) == (Pass.AS_LEFT, StepState.WAITING, Verdict.NOT_JUDGED)
    bench.run(1, output=0.5)
    bench.act(ActionKind.SKIP, "broken")
    bench.run(4, output=0.5)
    bench.press()
    assert bench.engine.verdict() is Verdict.FAIL
    replaced = [value.replaces for value in bench.settled if value.pass_ is Pass.AS_LEFT]
    assert replaced[0] is None
    assert replaced[-1] is not None


def test_the_pedal_takes_no_value_from_before_a_silence() -> None:
    bench = Bench(ADJUST + 'hold = "60 s"\n')
    skip_to(bench, "level")
    bench.run(4, output=PLUS_4_DBU)
    bench.now_s += 600
    with pytest.raises(IllegalAction):
        bench.press()
    assert bench.settled == []


def test_a_reading_in_flight_at_the_press_tells_nothing_of_what_comes_after() -> None:
    bench = Bench(THRESHOLD)
    skip_to(bench, "lamp")
    bench.run(3, output=0.9)
    bench.press()
    pressed_ns = round(bench.now_s * NS)
    late = bench.reading("output", 0.5)
    bench.give(Measured(pressed_ns - NS // 2, late))
    bench.run(3, output=0.9)
    (lit,) = [value for value in bench.settled if value.role is Role.LIT]
    assert lit.since_ns >= pressed_ns


def test_warm_up_waits_while_the_display_is_held_or_the_meter_is_away() -> None:
    bench = Bench(WARM_UP + ADJUST)
    for _ in range(200):
        bench.now_s += 0.2
        held = bench.reading("output", 1.0, flags=frozenset({"hold"}))
        bench.give(Measured(round(bench.now_s * NS), held))
    assert bench.engine.place == 0
    bench.run(15, output=ramp(1.0, 1.5, 15.0))
    bench.now_s += 600
    bench.run(0.2)
    assert bench.engine.place == 0, "no reading for ten minutes says nothing of the drift"


@pytest.mark.parametrize("steps", [EXTREMUM, BACK_OFF], ids=["extremum", "back-off"])
def test_readings_of_nothing_are_no_extremum(steps: str) -> None:
    bench = Bench(steps)
    skip_to(bench, "azimuth" if steps is EXTREMUM else "bias")
    bench.run(20, output=0.0)
    assert bench.settled == []
    assert bench.engine.view().guide.phase == "seek"


def test_a_gap_straight_after_a_press_is_a_gap() -> None:
    bench = Bench(ADJUST + 'setup = "Play."\n')
    bench.run(4, output=1.0)
    bench.press()
    bench.run(0.2, output=1.0)
    bench.now_s += 60
    began_ns = round(bench.now_s * NS)
    bench.run(4, output=1.0)
    assert bench.settled[0].since_ns >= began_ns - NS


def test_values_taken_before_an_interruption_are_replaced_by_those_after_it() -> None:
    bench = Bench(THRESHOLD)
    skip_to(bench, "lamp")
    bench.run(3, output=1.0)
    bench.press()
    bench.run(3, output=1.0)
    bench.act(ActionKind.INTERRUPTED)
    bench.run(3, output=1.0)
    bench.press()
    bench.run(3, output=1.0)
    first, second = [value for value in bench.settled if value.role is Role.LIT]
    assert second.replaces == first.number


PREPARE = '[[step]]\nid = "speed"\ntitle = "Speed"\npattern = "prepare"\nsetup = "Low speed."\n'


def test_a_preparation_between_steps_is_made_in_every_pass_that_needs_it() -> None:
    second = ADJUST.replace('"level"', '"second"')
    engine = Engine(Bench(ADJUST + PREPARE + second).engine.procedure)
    for pass_ in Pass:
        steps = [row.step.id for row in engine.plan if row.pass_ is pass_ and row.step.id != "close"]
        assert steps == ["level", "speed", "second"], pass_
