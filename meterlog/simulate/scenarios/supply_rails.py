"""A bench instrument's power supply: one reference that all rails follow. Invented.

Rails are fixed ratios of the reference with resistors of 0.5 %; the ripple is that of a capacitor that is
charged at twice the mains frequency, as rms.
"""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import WARM
from meterlog.simulate.unit import Choice, Control, Plain, Positions, TrimmerPlan

RAILS = {"plus 15": 1.503, "minus 15": -1.496, "plus 5": 0.5015}
RIPPLE_V = {"plus 15": 2.1e-3, "minus 15": 1.7e-3, "plus 5": 3.9e-3}


class SupplyRails(Plain):
    name = "supply of an instrument"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {"reference": TrimmerPlan(hint="beside the reference", start=0.71)}
    )
    controls: Mapping[str, Control] = MappingProxyType({"ripple probe": Choice("plus 15", tuple(RAILS))})

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        reference = 10 + 0.3 * (now.wiper("reference") - 0.5) + physics.wander(time_s, 2e-4, self._phase)
        rails = {name: ratio * reference for name, ratio in RAILS.items()}
        return {"reference": reference, **rails, "ripple": RIPPLE_V[str(now.controls["ripple probe"])]}


SUPPLY_RAILS = Scenario(
    name="supply-rails",
    summary="reference and rails of a supply: checked, adjusted only if needed; ripple",
    unit=SupplyRails,
    points={
        "reference": Point(kind=Kind.BENCH_METER, coupling="dc"),
        "plus 15": Point(coupling="dc"),
        "minus 15": Point(coupling="dc"),
        "plus 5": Point(coupling="dc"),
        "ripple": Point(kind=Kind.BENCH_METER, coupling="ac", show="mV", full_scale=0.1),
    },
    steps={
        "warm-up": WARM,
        "reference": StepPlan(knob=Knob(name="reference", usual=0.3)),
        **{
            f"ripple-{name}": StepPlan(controls={"ripple probe": name.replace("-", " ")})
            for name in ("plus-15", "minus-15", "plus-5")
        },
    },
)
