"""What a person knows who aligns the tape machine: which screw and which controls belong to which step.

The keys are the ids of the steps in the procedure for this machine.
"""

from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios.physics import LEVEL, volts
from meterlog.simulate.scenarios.tape_machine import (
    AZIMUTH_TONE,
    PLAY,
    RECORD,
    REFERENCE_LEVEL,
    STOP,
    TapeMachine,
)

AZIMUTH = Knob(name="azimuth", speed=0.05, sweep=0.025)
BIAS = Knob(name="bias", speed=0.08, sweep=0.06)
REPRODUCE = Knob(name="reproduce level", usual=1.7)
RECORD_LEVEL = Knob(name="record level", usual=1.7)
ZERO = Knob(name="meter zero", usual=-0.11)
SCALE = Knob(name="meter scale", usual=0.12)
LAMP = Knob(name="overload lamp", sweep=0.04)
BIAS_TONE = {"oscillator": True, "frequency_hz": 10_000.0}
LINE_UP_TONE = {"oscillator": True, "frequency_hz": 1000.0}

STEPS: Mapping[str, StepPlan] = MappingProxyType(
    {
        "prepare": StepPlan(controls={"transport": STOP, "oscillator": False}),
        "azimuth": StepPlan(controls={"section": AZIMUTH_TONE, "transport": PLAY}, knob=AZIMUTH),
        "reproduce-level": StepPlan(
            controls={"section": REFERENCE_LEVEL, "transport": PLAY},
            knob=REPRODUCE,
        ),
        "bias-tone": StepPlan(controls={**BIAS_TONE, "level_dbu": -15.5, "transport": RECORD}, knob=LEVEL),
        "bias": StepPlan(controls={"transport": RECORD}, knob=BIAS, fall_db=3.0),
        "record-tone": StepPlan(controls={**LINE_UP_TONE, "level_dbu": 4.5, "transport": RECORD}, knob=LEVEL),
        "record-level": StepPlan(controls={"transport": RECORD}, knob=RECORD_LEVEL),
        "panel-meter": StepPlan(
            conditions=(
                StepPlan(
                    controls={"oscillator": False},
                    knob=ZERO,
                    target_volts=0.0,
                ),
                StepPlan(
                    controls={**LINE_UP_TONE, "level_dbu": 4.5},
                    knob=SCALE,
                    target_volts=0.2,
                ),
            )
        ),
        "overload-lamp": StepPlan(
            controls={**LINE_UP_TONE, "level_dbu": 13.0},
            knob=LAMP,
            source=LEVEL,
            most_volts=volts(17.0),
        ),
    }
)

TAPE_MACHINE = Scenario(
    name="tape-machine",
    summary="open-reel tape machine: azimuth, bias, levels, its own meter and lamp",
    unit=TapeMachine,
    points={
        "output": Point(kind=Kind.BENCH_METER, show="dBu", meter="bench meter"),
        "input": Point(show="dBu"),
        "panel": Point(coupling="dc", show="mV"),
    },
    steps=STEPS,
)
