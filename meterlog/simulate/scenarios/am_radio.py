"""An AM receiver: two IF circuits, oscillator and aerial tracking at 600 and 1400 kHz. Invented values.

* a tuned circuit off its frequency: 1 / sqrt(1 + (2 Q d)**2), d the relative detuning (textbook)
* the oscillator runs 455 kHz above the dial; its coil moves both ends alike, its trimmer the high end five
  times as much as the low one, so the rounds of setting both close in by a fifth each
* automatic gain control: above 1 V at the detector 1 dB more makes only 0.15 dB, which flattens any peak
"""

import math
from collections.abc import Mapping
from types import MappingProxyType

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.scenario import Kind, Point, Scenario
from meterlog.simulate.scenarios import physics
from meterlog.simulate.scenarios.physics import WARM
from meterlog.simulate.unit import Choice, Control, Dial, Plain, Positions, TrimmerPlan

IF_KHZ = 455.0
IF_ONLY, LOW, HIGH = "455 kHz to the mixer", "600 kHz to the aerial", "1400 kHz to the aerial"
DIAL_KHZ = {"600": 600.0, "1400": 1400.0}
DRIVE = Knob(name="drive_db", is_dial=True, speed=6.0, sweep=1.0, probe=1.0, stroke=8.0, fine=0.1)


def _core(name: str) -> Knob:
    return Knob(name=name, speed=0.06, sweep=0.03)


class AmRadio(Plain):
    name = "AM broadcast receiver"
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            "first IF": TrimmerPlan(hint="core, plastic tool", start=0.42, turns=5),
            "second IF": TrimmerPlan(hint="core, plastic tool", start=0.66, turns=5),
            "oscillator coil": TrimmerPlan(hint="low end of the dial", start=0.60, turns=8),
            "oscillator trimmer": TrimmerPlan(hint="high end of the dial", start=0.30, turns=1),
            "aerial coil": TrimmerPlan(hint="low end of the dial", start=0.61, turns=8),
            "aerial trimmer": TrimmerPlan(hint="high end of the dial", start=0.36, turns=1),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType(
        {
            "generator": Choice(IF_ONLY, (IF_ONLY, LOW, HIGH)),
            "dial": Choice("600", tuple(DIAL_KHZ)),
            "drive_db": Dial(-20.0, -60.0, 40.0, "dB"),
        }
    )

    def __init__(self, seed: int = 0) -> None:
        self._phase = 0.1 * seed

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        oscillator_khz = _oscillator_khz(now)
        level = physics.gain(_level_db(now, oscillator_khz) + physics.wander(time_s, 0.01, self._phase))
        return {"detector": 0.004 + _controlled(level), "oscillator": 1000 * oscillator_khz}


def _controlled(level_volts: float) -> float:
    return level_volts if level_volts < 1.0 else math.pow(level_volts, 0.15)


def _level_db(now: Positions, oscillator_khz: float) -> float:
    drive_db = float(now.controls["drive_db"])
    if now.controls["generator"] == IF_ONLY:
        return drive_db + _if_db(now, IF_KHZ)
    signal_khz = 600.0 if now.controls["generator"] == LOW else 1400.0
    return drive_db + _if_db(now, oscillator_khz - signal_khz) + _aerial_db(now, signal_khz)


def _if_db(now: Positions, khz: float) -> float:
    first = 440 + 30 * now.wiper("first IF")
    second = 438 + 30 * now.wiper("second IF")
    return _resonance_db(khz, first, 40) + _resonance_db(khz, second, 40)


def _aerial_db(now: Positions, signal_khz: float) -> float:
    low = signal_khz < 1000
    off = 0.08 * (now.wiper("aerial coil") - 0.5)
    off += (0.01 if low else 0.08) * (now.wiper("aerial trimmer") - 0.5)
    return _resonance_db(signal_khz, signal_khz * (1 + off), 60)


def _oscillator_khz(now: Positions) -> float:
    dial_khz = DIAL_KHZ[str(now.controls["dial"])]
    low = dial_khz < 1000
    coil = 1 + 0.06 * (now.wiper("oscillator coil") - 0.5)
    trimmer = 1 + (0.008 if low else 0.04) * (now.wiper("oscillator trimmer") - 0.45)
    return (dial_khz + IF_KHZ) * coil * trimmer


def _resonance_db(khz: float, tuned_khz: float, q: float) -> float:
    return -10 * math.log10(1 + (2 * q * (khz / tuned_khz - 1)) ** 2)


_AERIAL = {
    "drive-high": StepPlan(controls={"generator": HIGH, "dial": "1400"}, knob=DRIVE),
    "aerial-high": StepPlan(knob=_core("aerial trimmer")),
    "drive-low": StepPlan(controls={"generator": LOW, "dial": "600"}, knob=DRIVE),
    "aerial-low": StepPlan(knob=_core("aerial coil")),
}

AM_RADIO = Scenario(
    name="am-radio",
    summary="AM receiver: IF peaks, oscillator and aerial tracking, gain control that flattens",
    unit=AmRadio,
    points={
        "detector": Point(kind=Kind.BENCH_METER, coupling="dc", show="V"),
        "oscillator": Point(kind=Kind.BENCH_METER, function="frequency", coupling="", show="kHz"),
    },
    steps={
        "warm-up": WARM,
        "drive-if": StepPlan(controls={"generator": IF_ONLY}, knob=DRIVE),
        "first-if": StepPlan(knob=_core("first IF")),
        "second-if": StepPlan(knob=_core("second IF")),
        "oscillator-tracking": StepPlan(
            conditions=(
                StepPlan(
                    controls={"dial": "600"}, knob=Knob(name="oscillator coil"), target_volts=1_055_000.0
                ),
                StepPlan(
                    controls={"dial": "1400"}, knob=Knob(name="oscillator trimmer"), target_volts=1_855_000.0
                ),
            )
        ),
        **{f"{step}-{time}": plan for time in ("first", "second") for step, plan in _AERIAL.items()},
    },
)
