"""A studio limiter with a control element that is biased, a meter zero and tracking. Generic, invented.

* control law: a shunt whose loss is softplus of the bias, steep near its end stop, the reduction on top of it
* gain reduction: ratio 10 above a threshold of 0 dBu at the input
* the meter amplifier: a standing offset in front of the tracking gain makes both trims interact (as in the
  tape machine), r about 0.25
"""

import math
from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import LEVEL, WARM, tone
from meterlog.simulate.unit import Control, Plain, Positions, Switch, TrimmerPlan

OUTPUT, BIAS = Knob(name="output level"), Knob(name="bias", stroke=0.05)
LEVELS_DBU = {"2-db": 2.22, "5-db": 5.56, "10-db": 11.11}
"""At the input, for so much reduction: 0.9 of it above 0 dBu (calculation)."""
ZERO, TRACKING = Knob(name="meter zero"), Knob(name="meter tracking")


class Limiter(Plain):
    name = "studio limiter"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            "output level": TrimmerPlan(hint="output amplifier", start=0.41),
            "bias": TrimmerPlan(hint="control element; clockwise end is no loss", start=0.48),
            "meter zero": TrimmerPlan(hint="meter amplifier", start=0.36),
            "meter tracking": TrimmerPlan(hint="meter amplifier; moves the zero too", start=0.62),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType(
        {**physics.oscillator(level_dbu=-6.0), "reduction": Switch(start=True)}
    )

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        source = physics.source_volts(now)
        reducing = bool(now.controls["reduction"])
        reduction_db = _reduction_db(now)
        loss_db = math.log1p(math.exp(12 * (0.55 - now.wiper("bias")))) if reducing else 0.0
        gain_db = 4 + 8 * (now.wiper("output level") - 0.5) - reduction_db - loss_db
        output = source * physics.gain(gain_db + physics.wander(time_s, 0.005, self._phase))
        return {
            "input": source,
            "output": math.hypot(output, physics.volts(-76)),
            "meter": _meter_volts(now, reduction_db),
        }

    def pointers(self, now: Positions, time_s: float) -> Mapping[str, float]:
        """The panel meter: 10 mV of drive for each dB."""
        return {"gain reduction": _meter_volts(now, _reduction_db(now)) / 0.01}


def _reduction_db(now: Positions) -> float:
    over_db = max(0.0, physics.dbu(physics.source_volts(now)))
    return 0.9 * over_db if now.controls["reduction"] else 0.0


def _meter_volts(now: Positions, reduction_db: float) -> float:
    """100 mV for 10 dB of reduction once both trims are right."""
    gain = 0.8 + 0.4 * now.wiper("meter tracking")
    return gain * (0.01 * reduction_db + 0.033) - (0.013 + 0.04 * now.wiper("meter zero"))


LIMITER = Scenario(
    name="studio-limiter",
    summary="levels, bias backed off, meter zero and tracking that interact",
    unit=Limiter,
    points={
        "input": Point(kind=Kind.BENCH_METER, show="dBu"),
        "output": Point(kind=Kind.BENCH_METER, show="dBu"),
        "meter": Point(coupling="dc", show="mV"),
    },
    steps={
        "warm-up": WARM,
        "tone": StepPlan(controls=tone(level_dbu=-5.0), knob=LEVEL),
        "output-level": StepPlan(controls={"reduction": False}, knob=OUTPUT),
        "bias": StepPlan(controls={"reduction": True}, knob=BIAS, fall_db=1.0, stop=1.0),
        "below": StepPlan(controls={"reduction": True}),
        "tone-for-reduction": StepPlan(controls=tone(level_dbu=11.0), knob=LEVEL),
        "meter-zero-and-tracking": StepPlan(
            conditions=(
                StepPlan(controls={"reduction": False}, knob=ZERO, target_volts=0.0),
                StepPlan(controls={"reduction": True}, knob=TRACKING, target_volts=0.1),
            )
        ),
        **{
            f"tracking-tone-{at}": StepPlan(
                controls={**tone(level_dbu=level + 0.4), "reduction": True}, knob=LEVEL
            )
            for at, level in LEVELS_DBU.items()
        },
        **{f"tracking-{at}": StepPlan(pointer="gain reduction") for at in LEVELS_DBU},
    },
)
