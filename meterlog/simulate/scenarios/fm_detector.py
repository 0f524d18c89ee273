"""A quadrature detector of an FM tuner: the null between two maxima. Invented values.

The detector's output against detuning is x / (1 + x**2), the usual S-curve of a tuned circuit: zero in the
middle, one maximum on each side, and low again at both ends of travel. Shown rectified, as an AC meter shows
the 400 Hz that the generator's sweep leaves; a rest of noise stays in the null.
"""

import math
from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import WARM
from meterlog.simulate.unit import Control, Plain, Positions, Switch, TrimmerPlan

COIL, LEVEL = Knob(name="detector coil", sweep=0.03, speed=0.06), Knob(name="output level")


class FmDetector(Plain):
    name = "FM detector"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            "detector coil": TrimmerPlan(hint="core, insulated tool", start=0.40, turns=6),
            "output level": TrimmerPlan(hint="audio level", start=0.62),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType({"generator": Switch(start=False)})

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        detuning = (now.wiper("detector coil") - 0.55) / 0.16
        on = bool(now.controls["generator"])
        curve = 0.5 * detuning / (1 + detuning**2) if on else 0.0
        audio = physics.gain(8 * (now.wiper("output level") - 0.5)) / (1 + 0.3 * detuning**2) if on else 0.0
        steady = 1 + physics.wander(time_s, 0.0005, self._phase)
        return {"residue": math.hypot(curve, 0.03), "audio": 0.775 * audio * steady + 2e-4}


FM_DETECTOR = Scenario(
    name="fm-detector",
    summary="null between two maxima, then the audio level",
    unit=FmDetector,
    points={
        "residue": Point(kind=Kind.BENCH_METER, show="mV", full_scale=1.0),
        "audio": Point(show="dBu"),
    },
    steps={
        "warm-up": WARM,
        "generator": StepPlan(controls={"generator": True}),
        "null": StepPlan(controls={"generator": True}, knob=COIL, minimum=True),
        "audio-level": StepPlan(knob=LEVEL),
    },
)
