"""Stored charge after switching off: measured, never waited for. A capacitor of capacity C falls through R as
V exp(-t/RC), so it passes a limit L after RC ln(V/L): the text-book law. All values here are made up."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.procedure import ActionKind, Engine, IllegalAction, Measured, Pass, SettledValue, StepEnded
from meterlog.reading import Coupling
from tests.procedure.bench import HEAD, Bench
from tests.procedure.test_load import problems
from tests.procedure.test_patterns import ADJUST, PLUS_4_DBU

OFF = """
[[step]]
id = "off"
title = "Switch off"
pattern = "power-down"
setup = "Switch off and pull the plug."
channel = "panel"
below = "10 V"
dwell = "5 s"
"""
BELOW_V = 10.0


def discharge(start: float, tau_s: float) -> Callable[[float], float]:
    return lambda t: start * math.exp(-t / tau_s)


def switched_off(steps: str = OFF) -> Bench:
    bench = Bench(steps)
    bench.press()
    return bench


def ending(bench: Bench) -> StepEnded | None:
    return next((o for o in bench.outcomes if isinstance(o, StepEnded) and o.step == "off"), None)


def end_of(bench: Bench) -> StepEnded:
    end = ending(bench)
    assert end is not None
    return end


def test_it_ends_when_the_falling_voltage_has_stayed_below_for_the_dwell() -> None:
    bench = switched_off()
    began_s = bench.now_s
    bench.run(60, panel=discharge(40.0, 4.0))
    end = ending(bench)
    assert end is not None
    passed_s = 4.0 * math.log(40.0 / BELOW_V)
    taken_s = end.at_ns / 1e9 - began_s
    assert passed_s + 5.0 <= taken_s <= passed_s + 5.0 + 0.6
    volts = 40.0 * math.exp(-(taken_s - 0.4) / 4.0)  # the largest of the last three readings
    said, number, rest = end.reason.split(" ", 2)
    assert (said, rest) == ("measured", "V, below 10 V for 5 s")
    assert float(number) == pytest.approx(volts, rel=2e-3)
    (value,) = bench.settled
    assert (value.channel, value.verdict) == ("panel", "not judged")
    assert value.value == pytest.approx(volts, rel=2e-3)


@settings(max_examples=25, deadline=None)
@given(st.floats(12.0, 400.0), st.floats(0.2, 30.0), st.sampled_from((-1.0, 1.0)))
def test_it_never_ends_while_a_reading_of_the_dwell_was_above(
    start: float, tau_s: float, sign: float
) -> None:
    bench = switched_off()
    bench.run(2, panel=sign * start)
    bench.run(20, panel=discharge(sign * start, tau_s))
    end = ending(bench)
    seen = [e for e in bench.events if isinstance(e, Measured)]
    if end is not None:
        last = [e.reading.value for e in seen if end.at_ns - 5e9 <= e.at_ns <= end.at_ns]
        assert all(value is not None and abs(value) < BELOW_V for value in last)


def test_a_voltage_that_stays_keeps_the_step_whatever_the_clock_says() -> None:
    bench = switched_off()
    bench.run(1800, panel=11.0)
    assert ending(bench) is None
    assert "measured 11.00 V, waiting for less than 10 V" in bench.engine.view().guide.do_now


def test_one_reading_above_begins_the_dwell_anew() -> None:
    bench = switched_off()
    bench.run(1, panel=12.0)
    bench.run(4.6, panel=3.1)
    bench.run(0.2, panel=12.0)
    bench.run(4.6, panel=3.1)
    assert ending(bench) is None
    bench.run(1, panel=3.1)
    assert ending(bench) is not None


@pytest.mark.parametrize(
    ("fields", "says"),
    [
        ({"flags": frozenset({"hold"})}, "display is on HOLD"),
        ({"coupling": Coupling.AC}, "does not measure DC voltage"),
        ({"value": None}, "the meter shows no number (overload)"),
    ],
)
def test_a_meter_that_shows_no_voltage_measures_nothing(fields: dict[str, object], says: str) -> None:
    bench = switched_off()
    bench.run(1, panel=30.0)
    for _ in range(100):
        bench.now_s += 0.2
        value = fields.get("value", 3.0)
        rest = {name: field for name, field in fields.items() if name != "value"}
        bench.give(Measured(round(bench.now_s * 1e9), bench.reading("panel", value, **rest)))  # type: ignore[arg-type]
    assert ending(bench) is None
    assert says in bench.engine.view().guide.do_now
    with pytest.raises(IllegalAction, match="stored charge is not measured"):
        bench.press()


def test_a_silent_meter_measures_nothing() -> None:
    bench = switched_off()
    bench.run(1, panel=30.0)
    bench.run(3, panel=3.0)
    bench.run(60)
    assert ending(bench) is None
    assert "not measured (no new reading)" in bench.engine.view().guide.do_now
    bench.run(3, panel=3.0)
    assert ending(bench) is None, "what was before the silence is no part of the dwell"
    bench.run(3, panel=3.0)
    assert ending(bench) is None, "nor does it prove that the probe is still on"
    assert "not seen falling below 10 V" in bench.engine.view().guide.do_now
    bench.press()
    assert "not seen falling below 10 V, probe confirmed" in end_of(bench).reason


def test_an_overload_hides_whether_the_probe_stayed_on() -> None:
    bench = switched_off()
    bench.run(1, panel=300.0)
    bench.now_s += 0.2
    bench.give(Measured(round(bench.now_s * 1e9), bench.reading("panel", None)))
    bench.run(10, panel=3.0)
    assert ending(bench) is None


def test_a_jump_to_nothing_may_be_a_probe_that_has_slipped() -> None:
    bench = switched_off()
    bench.run(2, panel=300.0)
    bench.run(10, panel=0.001)
    assert ending(bench) is None
    assert bench.engine.view().guide.awaiting_go_on


def test_a_range_changed_on_the_way_down_is_no_break_in_what_was_seen() -> None:
    bench = switched_off()
    fall = discharge(40.0, 2.0)
    for step in range(75):
        bench.now_s += 0.2
        volts = round(fall(step * 0.2), 3)
        reading = bench.reading("panel", volts, range_max=60.0 if volts > 6.0 else 6.0)
        bench.give(Measured(round(bench.now_s * 1e9), reading))
    assert "below 10 V for 5 s" in end_of(bench).reason
    assert "confirmed" not in end_of(bench).reason


def test_a_voltage_never_seen_above_the_limit_may_be_a_probe_that_has_slipped() -> None:
    bench = switched_off()
    with pytest.raises(IllegalAction):
        bench.press()
    bench.run(60, panel=3.1)
    assert ending(bench) is None
    guide = bench.engine.view().guide
    assert "never seen above 10 V" in guide.do_now
    assert guide.awaiting_go_on
    bench.press()
    end = ending(bench)
    assert end is not None
    assert "never seen above 10 V, probe confirmed by the operator" in end.reason


def test_a_pause_makes_it_begin_anew() -> None:
    bench = switched_off()
    bench.run(1, panel=30.0)
    bench.run(4, panel=3.0)
    bench.act(ActionKind.PAUSE)
    bench.press()
    bench.run(3, panel=3.0)
    assert ending(bench) is None


def test_nothing_says_safe_and_it_can_be_left_with_a_reason() -> None:
    bench = switched_off()
    for level in (30.0, 3.0):
        bench.run(2, panel=level)
        assert "safe" not in str(bench.engine.view().guide).lower()
    bench.act(ActionKind.SKIP, "the meter is needed elsewhere")
    end = ending(bench)
    assert end is not None
    assert end.ending == "skipped"


def test_it_is_run_once_at_the_end_of_the_last_pass() -> None:
    bench = Bench(ADJUST + OFF)
    assert [(p.step.id, p.pass_) for p in bench.engine.plan[-2:]] == [
        ("off", Pass.AS_LEFT),
        ("close", Pass.AS_LEFT),
    ]
    assert sum(p.step.id == "off" for p in bench.engine.plan) == 1
    looked = Bench(ADJUST.replace("adjust", "measure") + 'settle = "0.1 dB"\n' + OFF)
    assert [p.step.id for p in looked.engine.plan] == ["level", "off", "close"]


def test_a_source_is_not_set_for_a_unit_that_is_switched_off() -> None:
    tone = ADJUST.replace('"adjust"', '"set-source"').replace('"level"', '"tone"')
    bench = Bench(ADJUST + tone + OFF)
    assert ("tone", Pass.AS_LEFT) not in [(p.step.id, p.pass_) for p in bench.engine.plan]


def test_a_redo_in_the_adjust_pass_wants_it_measured_again() -> None:
    bench = Bench(ADJUST + OFF)
    bench.run_to(3, output=PLUS_4_DBU)
    bench.press()
    bench.run(1, panel=30.0)
    bench.run(7, panel=3.0)
    bench.act(ActionKind.REDO, "trimmer slipped", place=1)
    bench.run_to(3, output=PLUS_4_DBU)
    assert bench.engine.view().step == "off"


def test_replay_gives_the_same_value() -> None:
    bench = switched_off()
    bench.run(30, panel=discharge(60.0, 3.0))
    again = Engine(bench.engine.procedure)
    assert [outcome for event in bench.events for outcome in again.apply(event)] == bench.outcomes
    assert any(isinstance(outcome, SettledValue) for outcome in bench.outcomes)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('below = "10 V"', 'below = "0 V"', "magnitude above 0"),
        ('below = "10 V"', 'below = "10 Hz"', "no level of a channel in V"),
        ('dwell = "5 s"', 'dwell = "0.5 s"', "proves nothing"),
        ('setup = "Switch off and pull the plug."\n', "", "missing"),
    ],
)
def test_what_cannot_prove_a_charge_is_said(old: str, new: str, says: str) -> None:
    found = problems(OFF.replace(old, new))
    assert any(says in message for *_, message in found), found


def test_a_charge_is_no_alternating_voltage() -> None:
    head = HEAD.replace('name = "panel"', 'name = "panel"\ncoupling = "ac"')
    ((_, field, message),) = problems(ADJUST + OFF, head)
    assert (field, "coupling dc" in message) == ("step.2.channel", True)


def test_nothing_powered_comes_after_it_and_no_lower_limit_watches_it() -> None:
    ((_, field, message),) = problems(OFF + ADJUST)
    assert (field, "comes after 'off'" in message) == ("step.2", True)
    guard = '[[guard]]\nname = "Rail"\nchannel = "panel"\nnever_below = "13.3 V"\n'
    assert any("would trip" in message for *_, message in problems(guard + ADJUST + OFF))
    Bench(guard + 'to_step = "level"\n' + ADJUST + OFF)


def test_a_lower_limit_under_zero_may_watch_the_end() -> None:
    """0 V lies inside it."""
    Bench('[[guard]]\nname = "Offset"\nchannel = "panel"\nnever_below = "-150 mV"\n' + ADJUST + OFF)
