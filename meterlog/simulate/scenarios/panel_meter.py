"""A panel meter for 0 to 10 V with zero and scale trims that disturb each other. Invented.

A standing offset in front of the scale gain makes the scale trim move the zero too: each round leaves
0.25 of the error. The movement takes 100 mV for full scale; its pointer
shows 0.3 % of full scale too much.
"""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios.physics import WARM
from meterlog.simulate.unit import Control, Dial, Plain, Positions, TrimmerPlan

MARKS_V = (0, 2, 5, 8, 10)
VOLTS = Knob(
    name="source_v", is_dial=True, speed=2.0, sweep=0.3, probe=0.1, stroke=5.0, fine=0.001, usual=1.0
)


class PanelMeter(Plain):
    name = "panel meter, 0 to 10 V"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            "zero": TrimmerPlan(hint="electrical zero", start=0.33),
            "scale": TrimmerPlan(hint="full scale; moves the zero too", start=0.66),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType({"source_v": Dial(0.0, -1.0, 12.0, "V")})

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        source = 0.999 * float(now.controls["source_v"])
        return {"input": source, "movement": self._movement(now, source)}

    def pointers(self, now: Positions, time_s: float) -> Mapping[str, float]:
        movement = self._movement(now, 0.999 * float(now.controls["source_v"]))
        return {"volts": 100 * movement + 0.03}

    def _movement(self, now: Positions, source: float) -> float:
        gain = 0.8 + 0.4 * now.wiper("scale")
        return gain * (0.01 * source + 0.033) - (0.013 + 0.04 * now.wiper("zero"))


PANEL_METER = Scenario(
    name="panel-meter",
    summary="panel meter: zero and scale that disturb each other, marks by eye",
    unit=PanelMeter,
    points={
        "input": Point(kind=Kind.BENCH_METER, coupling="dc"),
        "movement": Point(coupling="dc", show="mV"),
    },
    steps={
        "warm-up": WARM,
        "zero-and-scale": StepPlan(
            conditions=(
                StepPlan(controls={"source_v": 0.0}, knob=Knob(name="zero"), target_volts=0.0),
                StepPlan(controls={"source_v": 10.01}, knob=Knob(name="scale"), target_volts=0.1),
            )
        ),
        **{f"input-{volts}": StepPlan(controls={"source_v": volts - 0.1}, knob=VOLTS) for volts in MARKS_V},
        **{f"mark-{volts}": StepPlan(pointer="volts", read_to=0.05) for volts in MARKS_V},
    },
)
