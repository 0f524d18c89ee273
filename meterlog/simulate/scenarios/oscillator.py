"""A volt-per-octave oscillator of a synthesizer. Invented but for the law: f = f0 * 2**volts.

* the scale trimmer pivots about 0 V, so it moves the pitch at 1 V too: setting 1 V and then 3 V leaves a
  third of the error each round; the other way round it would grow threefold
* a finite reset time makes high notes flat, 1 / (1 + f * t): t is about 0.4 us; the HF trim makes up for it
* 3 cents of drift while it warms up (60 s)
"""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import WARM
from meterlog.simulate.unit import Control, Dial, Plain, Positions, TrimmerPlan

BASE_HZ, RESET_S = 55.0, 4e-7
OFFSET, SCALE, HIGH = Knob(name="offset", probe=0.01), Knob(name="scale", probe=0.01), Knob(name="high end")


class Oscillator(Plain):
    name = "volt-per-octave oscillator"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            "offset": TrimmerPlan(hint="initial frequency", start=0.44),
            "scale": TrimmerPlan(hint="volts per octave, 25 turns", start=0.58, turns=25),
            "high end": TrimmerPlan(hint="high-frequency trim", start=0.10),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType({"control_v": Dial(0.0, 0.0, 10.0, "V")})

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        control_v = float(now.controls["control_v"])
        octaves = control_v * (1 + 0.1 * (now.wiper("scale") - 0.5)) + 0.5 * (now.wiper("offset") - 0.5)
        cents = -3 * physics.warmth(time_s, 60) + physics.wander(time_s, 0.15, self._phase)
        ideal_hz = BASE_HZ * 2 ** (octaves + cents / 1200)
        late_s = RESET_S * 2 * (0.6 - now.wiper("high end"))
        return {"pitch": ideal_hz / (1 + ideal_hz * late_s), "control": 1.0002 * control_v}


OSCILLATOR = Scenario(
    name="volt-per-octave",
    summary="pitch of an oscillator: scale and offset disturb each other, high end",
    unit=Oscillator,
    points={
        "pitch": Point(kind=Kind.BENCH_METER, function="frequency", coupling="", show="Hz"),
        "control": Point(kind=Kind.BENCH_METER, coupling="dc"),
    },
    steps={
        "warm-up": WARM,
        "test-volts": StepPlan(controls={"control_v": 2.0}),
        "scale-and-offset": StepPlan(
            conditions=(
                StepPlan(controls={"control_v": 1.0}, knob=OFFSET, target_volts=110.0),
                StepPlan(controls={"control_v": 3.0}, knob=SCALE, target_volts=440.0),
            )
        ),
        "high-end": StepPlan(controls={"control_v": 6.0}, knob=HIGH),
        **{f"octave-{volts}": StepPlan(controls={"control_v": float(volts)}) for volts in range(1, 7)},
    },
)
