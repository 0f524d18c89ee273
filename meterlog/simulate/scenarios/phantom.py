"""Phantom power of a four-channel microphone amplifier. 48 V through 6.8 kohm to each pin (IEC 61938).

The supply stands at 47.4 V with 40 ohm of its own; the resistors differ by less than 0.4 %. Invented values.
"""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.unit import Choice, Control, Plain, Positions, TrimmerPlan

SUPPLY_V, SUPPLY_OHM, FEED_OHM = 47.4, 40.0, 6800.0
MISMATCH = {"1": 0.0011, "2": -0.0021, "3": 0.0006, "4": 0.0029}
LOAD_A = 0.010
OPEN, LOADED = "open", "10 mA"


class Phantom(Plain):
    name = "four-channel microphone amplifier"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType({})
    controls: Mapping[str, Control] = MappingProxyType(
        {"plugged into": Choice("1", tuple(MISMATCH)), "load": Choice(OPEN, (OPEN, LOADED))}
    )

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        """Half of the load's current goes through each pin."""
        load_a = LOAD_A if now.controls["load"] == LOADED else 0.0
        mismatch = MISMATCH[str(now.controls["plugged into"])]
        supply = SUPPLY_V - load_a * SUPPLY_OHM + physics.wander(time_s, 0.004, self._phase)
        drop = load_a / 2 * FEED_OHM
        return {"pin 2": supply - drop * (1 + mismatch / 2), "difference": drop * mismatch}


PHANTOM = Scenario(
    name="phantom-power",
    summary="phantom power of four channels: open, loaded, difference of the pins",
    unit=Phantom,
    points={
        "pin 2": Point(kind=Kind.BENCH_METER, coupling="dc", full_scale=100.0),
        "difference": Point(kind=Kind.BENCH_METER, coupling="dc", show="mV", full_scale=1.0),
    },
    steps={
        f"{step}-{number}": StepPlan(controls={"plugged into": number, "load": load})
        for number in MISMATCH
        for step, load in (("open", OPEN), ("loaded", LOADED), ("difference", LOADED))
    },
)
