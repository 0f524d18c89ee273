"""The record side of the tape machine in tape_machine.py: bias, level, response behind the tape."""

from collections.abc import Mapping
from dataclasses import replace
from types import MappingProxyType

from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios.physics import LEVEL, WARM, tone
from meterlog.simulate.scenarios.tape_machine import RECORD, TapeMachine
from meterlog.simulate.scenarios.tape_machine_steps import BIAS, RECORD_LEVEL
from meterlog.simulate.unit import TrimmerPlan

ALIGNED = {"azimuth": 0.58, "reproduce level": 0.46}
"""The reproduce side as it should stand before the record side is begun."""


class RecordSide(TapeMachine):
    """The same machine, its reproduce side aligned."""

    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            name: replace(plan, start=ALIGNED.get(name, plan.start))
            for name, plan in TapeMachine.trimmers.items()
        }
    )


TAPE_RECORD = Scenario(
    name="tape-record",
    summary="bias beyond its peak, record level, response behind the tape",
    unit=RecordSide,
    points={"output": Point(kind=Kind.BENCH_METER, show="dBu"), "input": Point(show="dBu")},
    steps={
        "warm-up": WARM,
        "bias-tone": StepPlan(controls=tone(10_000.0, level_dbu=-15.5, transport=RECORD), knob=LEVEL),
        "bias": StepPlan(knob=BIAS, fall_db=3.0),
        "level-tone": StepPlan(controls=tone(level_dbu=4.5, transport=RECORD), knob=LEVEL),
        "record-level": StepPlan(knob=RECORD_LEVEL),
        "response-tone": StepPlan(controls=tone(level_dbu=-15.5, transport=RECORD), knob=LEVEL),
        "response-tone-high": StepPlan(controls=tone(10_000.0, transport=RECORD), knob=LEVEL),
        "response-tone-low": StepPlan(controls=tone(100.0, transport=RECORD), knob=LEVEL),
    },
)
