"""The record side of the tape machine in tape_machine.py: azimuth, bias, level, equaliser, response.

The record head stands askew as the reproduce head may (the same curve), and there is a record equaliser
of 6 dB either way at the highest frequencies. Both are invented.
"""

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType
from typing import ClassVar

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import LEVEL, WARM, tone
from meterlog.simulate.scenarios.tape_machine import (
    AZIMUTH_TRAVEL_RAD,
    PLAY,
    RECORD,
    TapeMachine,
    Tone,
    azimuth_loss_db,
)
from meterlog.simulate.scenarios.tape_machine_steps import BIAS, RECORD_LEVEL
from meterlog.simulate.unit import Choice, Control, Positions, TrimmerPlan

ALIGNED = {"azimuth": 0.58, "reproduce level": 0.46}
"""The reproduce side as it should stand before the record side is begun."""
ROWS_HZ = {"100 Hz": 100.0, "300 Hz": 300.0, "1 kHz": 1000.0, "3 kHz": 3000.0, "10 kHz": 10_000.0}
SECTIONS = {name: Tone(ROWS_HZ[name], -20.0) for name in ("100 Hz", "1 kHz", "10 kHz")}
"""Response sections of the reference tape."""
AZIMUTH = Knob(name="record azimuth", speed=0.05, sweep=0.025)
TRUE_PLACE = 0.55


class RecordSide(TapeMachine):
    """The same machine, its reproduce side aligned."""

    sections: ClassVar[Mapping[str, Tone]] = SECTIONS
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            **{
                name: replace(plan, start=ALIGNED.get(name, plan.start))
                for name, plan in TapeMachine.trimmers.items()
            },
            "record azimuth": TrimmerPlan(hint="screw beside the record head", start=0.33, turns=4),
            "record equaliser": TrimmerPlan(hint="record amplifier, high frequencies", start=0.38),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType(
        {**TapeMachine.controls, "section": Choice("1 kHz", tuple(SECTIONS))}
    )

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        whole = super().outputs(now, before, time_s)
        under_the_head = self.tone_under_the_head(now, before)
        if under_the_head is None:
            return {**whole, "counter": 0.0}
        hertz = under_the_head.frequency_hz
        change_db = _record_db(before, hertz) if now.controls["transport"] == RECORD else 0.0
        return {**whole, "output": whole["output"] * physics.gain(change_db), "counter": hertz}


def _record_db(then: Positions, hertz: float) -> float:
    """What record head and record equaliser do to a tone."""
    angle_rad = (then.wiper("record azimuth") - TRUE_PLACE) * AZIMUTH_TRAVEL_RAD
    treble = (hertz / 10_000) ** 2 / (1 + (hertz / 10_000) ** 2)
    return azimuth_loss_db(angle_rad, hertz) + 12 * treble * (then.wiper("record equaliser") - 0.5)


def _recording(hertz: float = 1000.0, level_dbu: float = -15.5) -> dict[str, str | bool | float]:
    return tone(hertz, level_dbu=level_dbu, transport=RECORD)


TAPE_RECORD = Scenario(
    name="tape-record",
    summary="record azimuth, bias beyond its peak, record level, equaliser, response behind the tape",
    unit=RecordSide,
    driven_source=True,
    points={
        "output": Point(kind=Kind.BENCH_METER, show="dBu"),
        "input": Point(kind=Kind.BENCH_METER, show="dBu"),
        "counter": Point(kind=Kind.BENCH_METER, function="frequency", coupling="", show="kHz"),
    },
    steps={
        "warm-up": WARM,
        "reproduce-response": StepPlan(
            controls={"transport": PLAY}, rows={name: {"section": name} for name in SECTIONS}
        ),
        "bias-tone": StepPlan(controls=_recording(10_000.0), knob=LEVEL),
        "azimuth": StepPlan(controls=tone(10_000.0), coarse=tone(3000.0), knob=AZIMUTH),
        "bias": StepPlan(knob=BIAS, fall_db=3.0),
        "level-tone": StepPlan(controls=_recording(level_dbu=4.5), knob=LEVEL),
        "record-level": StepPlan(knob=RECORD_LEVEL),
        "equaliser-tone": StepPlan(controls=_recording(10_000.0), knob=LEVEL),
        "equaliser": StepPlan(knob=Knob(name="record equaliser")),
        "azimuth-again": StepPlan(knob=AZIMUTH),
        "record-response": StepPlan(
            controls=_recording(),
            rows={name: tone(hertz, level_dbu=-15.5) for name, hertz in ROWS_HZ.items()},
        ),
    },
)
