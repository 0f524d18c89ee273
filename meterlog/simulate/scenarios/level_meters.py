"""Two level meters with pointers, one behind a VU scale, one behind that of a peak programme meter.

* VU: 0 VU at +4 dBu (IEC 60268-17 with its 4 dB lead); deflection in proportion to the voltage, so that a
  zero that is off shows most at low levels. 300 ms to 99 % is a matter of transients, not modelled here
* peak programme meter: marks 1 to 7, 4 dB from mark to mark, 4 at 0 dBu (IEC 60268-10 type IIa); law and
  gain trims interact: the law turns about mark 6
"""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import LEVEL, WARM, tone
from meterlog.simulate.unit import Control, Plain, Positions, TrimmerPlan


class VuMeter(Plain):
    name = "VU meter"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {"sensitivity": TrimmerPlan(hint="behind the scale", start=0.66)}
    )
    controls: Mapping[str, Control] = MappingProxyType(dict(physics.oscillator(level_dbu=0.0)))

    def __init__(self, seed: int = 0) -> None:
        self._off = 0.0002 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        return {"input": physics.source_volts(now)}

    def pointers(self, now: Positions, time_s: float) -> Mapping[str, float]:
        gain_db = 4 * (now.wiper("sensitivity") - 0.5)
        deflection = physics.source_volts(now) / physics.volts(4) * physics.gain(gain_db) + self._off
        return {"VU": max(-40.0, physics.dbu(deflection * physics.DBU_V))}


VU_METER = Scenario(
    name="vu-meter",
    summary="VU meter: pointer to 0 at line-up level, marks below and above",
    unit=VuMeter,
    points={"input": Point(kind=Kind.BENCH_METER, show="dBu")},
    steps={
        "warm-up": WARM,
        "tone": StepPlan(controls=tone(level_dbu=4.5), knob=LEVEL),
        "zero-vu": StepPlan(pointer="VU", knob=Knob(name="sensitivity", usual=4.0)),
        **{
            f"tone-{mark}": StepPlan(controls=tone(level_dbu=4.5 + vu), knob=LEVEL)
            for mark, vu in (("minus-10", -10.0), ("minus-3", -3.0), ("plus-3", 3.0))
        },
        **{f"mark-{mark}": StepPlan(pointer="VU") for mark in ("minus-10", "minus-3", "plus-3")},
    },
)


class PeakMeter(Plain):
    name = "peak programme meter"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            "gain": TrimmerPlan(hint="meter card", start=0.37),
            "law": TrimmerPlan(hint="meter card; turns about mark 6", start=0.57),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType(dict(physics.oscillator(level_dbu=0.0)))

    def __init__(self, seed: int = 0) -> None:
        self._off = 0.01 * (seed % 3)

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        return {"input": physics.source_volts(now)}

    def pointers(self, now: Positions, time_s: float) -> Mapping[str, float]:
        """As the level that is written at the mark."""
        level = (physics.dbu(physics.source_volts(now)) - 8.0) / 4.0
        slope = 1 + 0.3 * (now.wiper("law") - 0.5)
        mark = 6 + slope * level + 2 * (now.wiper("gain") - 0.5) + self._off
        return {"dBu": 4 * (min(7.5, max(0.0, mark)) - 4)}


PEAK_METER = Scenario(
    name="peak-programme-meter",
    summary="peak programme meter: gain at mark 6, law at mark 2, all marks",
    unit=PeakMeter,
    points={"input": Point(kind=Kind.BENCH_METER, show="dBu")},
    steps={
        "warm-up": WARM,
        "tone-gain": StepPlan(controls=tone(level_dbu=8.5), knob=LEVEL),
        "gain": StepPlan(pointer="dBu", read_to=0.2, knob=Knob(name="gain", usual=8.0, mark=8.0)),
        "tone-law": StepPlan(controls=tone(level_dbu=-7.5), knob=LEVEL),
        "law": StepPlan(pointer="dBu", read_to=0.2, knob=Knob(name="law", usual=-4.8, mark=-8.0)),
        **{
            f"tone-{mark}": StepPlan(controls=tone(level_dbu=4.0 * mark - 15.5), knob=LEVEL)
            for mark in (1, 3, 4, 5, 7)
        },
        **{f"mark-{mark}": StepPlan(pointer="dBu", read_to=0.2) for mark in (1, 3, 4, 5, 7)},
    },
)
