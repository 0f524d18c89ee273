"""One channel of a transistor power amplifier: idle current and output offset. Every number is invented.

* idle current against the bias trimmer: nothing at first, then steeply up. ln(1 + e**x), the usual smooth
  stand-in for an exponential that resistors straighten; read in millivolts across an emitter resistor
* it warms itself: 18 % more idle current when warm, 40 s after switching on; 2 % more with the cover on
* the offset takes with it: 1 mV of idle moves the output by -0.25 mV, 1 mV of offset the idle by 0.03 mV
* two rails of 45 V whose capacitors bleed with 15 s; the stage runs until a fifth of that is left
"""

import math
from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.unit import Control, Plain, Positions, Switch, TrimmerPlan

BIAS = Knob(name="bias", speed=0.03, probe=0.01, stroke=0.03)
OFFSET = Knob(name="offset", probe=0.02)
RAIL_V, BLEEDING_S = 45.0, 15.0


class PowerAmplifier(Plain):
    name = "power amplifier, one channel"
    controls: Mapping[str, Control] = MappingProxyType(
        {"mains": Switch(start=False), "cover": Switch(start=False)}
    )

    def __init__(self, seed: int = 0, *, bias_start: float = 0.41) -> None:
        self.trimmers: Mapping[str, TrimmerPlan] = {
            "bias": TrimmerPlan(hint="driver board; anticlockwise is least current", start=bias_start),
            "offset": TrimmerPlan(hint="input board", start=0.62),
        }
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        """`idle` and `output` in volts as everything; from rail to rail the two capacitors add up."""
        charge = physics.charge(now, time_s, bleeding_s=BLEEDING_S)
        running = 1e-3 * min(1.0, 5 * charge)
        offset = 40.0 * (now.wiper("offset") - 0.5)
        steepness = (now.wiper("bias") - 0.36) / 0.05
        idle = 5.0 * math.log1p(math.exp(steepness)) * _heat(now, time_s) + 0.03 * offset
        output = offset - 0.25 * (idle - 10.0) + physics.wander(time_s, 0.05, self._phase)
        idle += physics.wander(time_s, 0.02)
        return {"idle": running * idle, "output": running * output, "rails": 2 * RAIL_V * charge}


def _heat(now: Positions, time_s: float) -> float:
    """What its own warmth makes of the idle current."""
    warm = physics.warmth(now.for_s("mains", time_s), 40) if now.controls["mains"] else 1.0
    covered = physics.warmth(now.for_s("cover", time_s), 40) if now.controls["cover"] else 0.0
    return 1 + 0.18 * warm + 0.02 * covered


def scenario(bias_start: float = 0.41) -> Scenario:
    """`bias_start`: where the last person left the trimmer."""
    return Scenario(
        name="power-amplifier",
        summary="idle current and offset of a power amplifier, warming up, with guards",
        unit=lambda seed: PowerAmplifier(seed, bias_start=bias_start),
        points={
            "idle": Point(kind=Kind.BENCH_METER, coupling="dc", show="mV", full_scale=0.1),
            "output": Point(coupling="dc", show="mV"),
            "rails": Point(coupling="dc"),
        },
        steps={
            "switch-on": StepPlan(controls={"mains": True}, look_s=5.0),
            "warm-up": StepPlan(patience_s=100.0),  # warm but for a tenth
            "offset": StepPlan(knob=OFFSET),
            "idle": StepPlan(knob=BIAS),
            "idle-and-offset": StepPlan(
                conditions=(
                    StepPlan(knob=BIAS, target_volts=0.010),
                    StepPlan(knob=OFFSET, target_volts=0.0),
                )
            ),
            "stays": StepPlan(controls={"cover": True}),
            "stored-charge": StepPlan(controls={"mains": False}),
        },
    )


POWER_AMPLIFIER = scenario()
