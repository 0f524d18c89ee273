"""A bench instrument's power supply: one reference that all rails follow. Invented.

Rails are fixed ratios of the reference with resistors of 0.5 %. The ripple is that of a capacitor that is
charged at twice the mains frequency, as rms; full load takes it down to less and the rails a little with it.
"""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import WARM
from meterlog.simulate.unit import Choice, Control, Plain, Positions, Switch, TrimmerPlan

RAILS = {"plus 15": 1.503, "minus 15": -1.496, "plus 5": 0.5015}
RIPPLE_V = {"plus 15": 2.1e-3, "minus 15": 1.7e-3, "plus 5": 3.9e-3}
"""At full load; with the light one half of that."""
SAG = {"plus 15": 0.0008, "minus 15": 0.0006, "plus 5": 0.0021}
"""The share that full load takes from each rail."""
LIGHT, FULL = "light", "full"
RESERVOIR_V, BLEEDING_S = 24.0, 9.0


class SupplyRails(Plain):
    name = "supply of an instrument"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {"reference": TrimmerPlan(hint="beside the reference", start=0.71)}
    )
    controls: Mapping[str, Control] = MappingProxyType(
        {
            "mains": Switch(start=False),
            "load": Choice(LIGHT, (LIGHT, FULL)),
            "ripple probe": Choice("plus 15", tuple(RAILS)),
        }
    )

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        """The regulators hold until two thirds of the reservoir's voltage are left."""
        charge = physics.charge(now, time_s, bleeding_s=BLEEDING_S)
        held = min(1.0, 1.5 * charge)
        reference = 10 + 0.3 * (now.wiper("reference") - 0.5) + physics.wander(time_s, 2e-4, self._phase)
        full = now.controls["load"] == FULL
        rails = {name: held * ratio * reference * (1 - SAG[name] * full) for name, ratio in RAILS.items()}
        ripple = RIPPLE_V[str(now.controls["ripple probe"])] * (1.0 if full else 0.5)
        return {
            "reference": held * reference,
            **rails,
            "ripple": held * ripple,
            "reservoir": RESERVOIR_V * charge * (0.94 if full else 1.0),
        }


SUPPLY_RAILS = Scenario(
    name="supply-rails",
    summary="reference and rails of a supply: checked, adjusted only if needed; ripple, load, stored charge",
    unit=SupplyRails,
    points={
        "reference": Point(kind=Kind.BENCH_METER, coupling="dc"),
        "plus 15": Point(coupling="dc"),
        "minus 15": Point(coupling="dc"),
        "plus 5": Point(kind=Kind.BENCH_METER, coupling="dc"),  # half a per cent of it is asked for
        "ripple": Point(kind=Kind.BENCH_METER, coupling="ac", show="mV", full_scale=0.1),
        "reservoir": Point(coupling="dc"),
    },
    steps={
        "switch-on": StepPlan(controls={"mains": True}, look_s=5.0),
        "warm-up": WARM,
        "reference": StepPlan(controls={"load": LIGHT}, knob=Knob(name="reference", usual=0.3)),
        "full-load": StepPlan(controls={"load": FULL}),
        **{
            f"ripple-{name}": StepPlan(controls={"ripple probe": name.replace("-", " ")})
            for name in ("plus-15", "minus-15", "plus-5")
        },
        "stored-charge": StepPlan(controls={"mains": False}),
    },
)
