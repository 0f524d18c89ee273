"""Units that cannot be aligned, in virtual time: the tool says what is wrong and never records a pass.

The units are those of the shipped procedures with a fault put in. Where a step cannot end by itself the
person gives up after a while, with a reason, as at a real bench.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import replace

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import (
    Acted,
    ActionKind,
    GuardTripped,
    Pass,
    SessionEnded,
    SessionState,
    StepEnded,
)
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Scenario
from meterlog.simulate.scenarios import find
from meterlog.simulate.scenarios.power_amplifier import scenario as amplifier
from meterlog.simulate.unit import Positions, Unit
from tests.simulate.virtual_bench import VirtualBench

Spoil = Callable[[Mapping[str, float], Positions, float], Mapping[str, float]]


class Spoilt:
    """A unit whose points give something else than they should."""

    def __init__(self, unit: Unit, spoil: Spoil, *, dark: bool = False) -> None:
        self._unit, self._spoil, self._dark = unit, spoil, dark

    def __getattr__(self, name: str) -> object:
        return getattr(self._unit, name)

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        whole = self._unit.outputs(now, before, time_s)
        return {**whole, **self._spoil(whole, now, time_s)}

    def lit(self, now: Positions) -> bool:
        return not self._dark and self._unit.lit(now)


def spoilt(name: str, spoil: Spoil, *, dark: bool = False) -> Scenario:
    whole = find(name)
    return replace(whole, unit=lambda seed: Spoilt(whole.unit(seed), spoil, dark=dark))


def stuck_at(
    scenario: Scenario, step: str, pass_: Pass = Pass.ADJUST, *, patience_s: float = 90.0
) -> VirtualBench:
    """Work until this step has been tried for so long, or has ended, or the session has."""
    bench = VirtualBench(seed=1, scenario=scenario)
    bench.begin()
    since_s = math.inf
    while bench.engine.state is not SessionState.ENDED and bench.clock.time_s - since_s < patience_s:
        bench.glance()
        here = (bench.engine.view().step, bench.engine.view().pass_) == (step, pass_)
        since_s = min(since_s, bench.clock.time_s) if here else math.inf
        assert bench.clock.time_s < 1500
        if _ending(bench, step, pass_):
            break
    return bench


def _ending(bench: VirtualBench, step: str, pass_: Pass) -> StepEnded | None:
    endings = [one for one in bench.outcomes if isinstance(one, StepEnded)]
    return next((one for one in endings if (one.step, one.pass_) == (step, pass_)), None)


def given_up(bench: VirtualBench, kind: ActionKind = ActionKind.BREAK_OFF) -> Verdict:
    """The person ends it there; the session's verdict."""
    bench.outcomes += bench.engine.apply(Acted(round(bench.clock.time_s * 1e9), kind, "cannot be set"))
    ended = bench.outcomes[-1]
    assert isinstance(ended, SessionEnded)
    return ended.verdict


def test_a_target_beyond_the_end_of_the_trimmer_is_never_reached() -> None:
    """8 dB of gain are missing: even the end of the trimmer is 5 dB too low."""
    weak = spoilt("line-amplifier", lambda whole, _now, _s: {"left": 0.4 * whole["left"]})
    bench = stuck_at(weak, "trim-left")
    guide = bench.engine.view().guide
    assert bench.bench.now().trimmers["gain left"].shaft == 1.0, "turned to its end"
    assert guide.direction == "up"
    assert guide.distance is not None
    assert guide.distance < -4
    assert _ending(bench, "trim-left", Pass.ADJUST) is None
    assert given_up(bench) is not Verdict.PASS


def test_conditions_that_are_one_and_the_same_are_given_up_with_a_reason() -> None:
    """The offset trimmer at both notes: what one sets right the other sets wrong, round after round."""
    whole = find("volt-per-octave")
    low, high = whole.steps["scale-and-offset"].conditions
    alike = StepPlan(conditions=(low, replace(high, knob=low.knob)))
    scenario = replace(whole, steps={**whole.steps, "scale-and-offset": alike})
    bench = stuck_at(scenario, "scale-and-offset", patience_s=1200)
    ended = _ending(bench, "scale-and-offset", Pass.ADJUST)
    assert ended is not None
    assert ended.verdict is Verdict.FAIL
    assert "round" in ended.reason
    assert given_up(bench) is not Verdict.PASS


def test_a_level_that_drifts_is_not_taken() -> None:
    """0.3 dB a second."""
    drifting = spoilt(
        "interface-level",
        lambda whole, _now, time_s: {
            "left": whole["left"] * 10 ** (0.3 * math.remainder(time_s, 120.0) / 20)
        },
    )
    bench = stuck_at(drifting, "line-up-left", Pass.AS_FOUND, patience_s=60)
    assert _ending(bench, "line-up-left", Pass.AS_FOUND) is None
    assert bench.engine.view().guide.why_not
    assert given_up(bench) is not Verdict.PASS


def test_a_lamp_that_stays_dark_is_no_threshold() -> None:
    dark = spoilt("tape-machine", lambda _whole, _now, _s: {}, dark=True)
    bench = stuck_at(dark, "overload-lamp", Pass.AS_FOUND)
    ended = _ending(bench, "overload-lamp", Pass.AS_FOUND)
    assert ended is None or ended.verdict is Verdict.FAIL
    assert "lamp" in (ended.reason if ended else bench.engine.view().guide.do_now)
    assert given_up(bench) is not Verdict.PASS


def test_a_tripped_guard_is_named_and_holds_the_step() -> None:
    bench = stuck_at(amplifier(bias_start=0.75), "switch-on", patience_s=20)
    trips = [one for one in bench.outcomes if isinstance(one, GuardTripped)]
    assert trips
    assert trips[0].guard == "idle current"
    alarm = bench.engine.view().alarm
    assert alarm is not None
    assert alarm.tripped
    assert "switch off at the wall" in alarm.text
    assert _ending(bench, "switch-on", Pass.ADJUST) is None
    assert given_up(bench, ActionKind.INOPERABLE) is Verdict.FAIL


@pytest.mark.parametrize(("channel", "step"), [("left", "trim-left"), ("right", "match")])
def test_a_dead_channel_fails_or_stays_open(channel: str, step: str) -> None:
    dead = spoilt("line-amplifier", lambda _whole, _now, _s: {channel: 1e-4})
    bench = stuck_at(dead, step)
    assert _ending(bench, step, Pass.ADJUST) is None
    assert given_up(bench) is not Verdict.PASS
