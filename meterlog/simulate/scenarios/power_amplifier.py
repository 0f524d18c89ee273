"""One channel of a transistor power amplifier: idle current and output offset. Invented.

* idle current against the bias trimmer: nothing at first, then steeply up. ln(1 + e**x), the usual smooth
  stand-in for an exponential that resistors straighten; read in millivolts across an emitter resistor
* it warms itself: 18 % more idle current when warm, 40 s (invented)
* the offset takes with it: 1 mV of idle moves the output by -0.25 mV, 1 mV of offset the idle by 0.03 mV
"""

import math
from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import WARM
from meterlog.simulate.unit import Control, Plain, Positions, TrimmerPlan

BIAS = Knob(name="bias", speed=0.03, probe=0.01, stroke=0.03)
OFFSET = Knob(name="offset", probe=0.02)


class PowerAmplifier(Plain):
    name = "power amplifier, one channel"
    controls: Mapping[str, Control] = MappingProxyType({})

    def __init__(self, seed: int = 0, *, bias_start: float = 0.41) -> None:
        self.trimmers: Mapping[str, TrimmerPlan] = {
            "bias": TrimmerPlan(hint="driver board; anticlockwise is least current", start=bias_start),
            "offset": TrimmerPlan(hint="input board", start=0.62),
        }
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        offset = 40.0 * (now.wiper("offset") - 0.5)
        steepness = (now.wiper("bias") - 0.36) / 0.05
        idle = 5.0 * math.log1p(math.exp(steepness)) * (1 + 0.18 * physics.warmth(time_s, 40)) + 0.03 * offset
        output = offset - 0.25 * (idle - 10.0) + physics.wander(time_s, 0.05, self._phase)
        return {"idle": 1e-3 * (idle + physics.wander(time_s, 0.02)), "output": 1e-3 * output}


def scenario(bias_start: float = 0.41) -> Scenario:
    """`bias_start`: where the last person left the trimmer."""
    return Scenario(
        name="power-amplifier",
        summary="idle current and offset of a power amplifier, warming up, with guards",
        unit=lambda seed: PowerAmplifier(seed, bias_start=bias_start),
        points={
            "idle": Point(kind=Kind.BENCH_METER, coupling="dc", show="mV", full_scale=0.1),
            "output": Point(coupling="dc", show="mV"),
        },
        steps={
            "warm-up": WARM,
            "offset": StepPlan(knob=OFFSET),
            "idle": StepPlan(knob=BIAS),
            "idle-and-offset": StepPlan(
                conditions=(
                    StepPlan(knob=BIAS, target_volts=0.010),
                    StepPlan(knob=OFFSET, target_volts=0.0),
                )
            ),
        },
    )


POWER_AMPLIFIER = scenario()
