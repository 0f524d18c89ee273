"""A radio archive's open-reel tape machine: invented, with the physics of any such machine.

Full track on quarter-inch tape (6.3 mm) at 381 mm/s. Sources of the curves:

* azimuth: loss of a gap that stands at an angle, sin(x)/x with x = pi * width * tan(angle) / wavelength
  (the textbook formula of magnetic recording), so there are side peaks 13.3 dB down;
* bias: output against bias as a parabola over the logarithm of the current, narrow for short waves and
  peaking earlier for them. The shape is invented; that 3 dB past the peak at 10 kHz is the usual
  working point at this speed is common practice;
* levels: 0 dBu = sqrt(0.6) V; reference level +4 dBu, at the input, on the tape and at the output.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import ClassVar

from meterlog.simulate.scenarios.physics import dbu, source_volts, volts
from meterlog.simulate.unit import Choice, Control, Dial, Plain, Positions, Switch, TrimmerPlan

REFERENCE_DBU = 4.0
STOP, PLAY, RECORD = "stop", "play reference tape", "record and monitor tape"
AZIMUTH_TONE, REFERENCE_LEVEL = "azimuth tone 10 kHz", "reference level 1 kHz"

TRACK_M, SPEED_M_S, HEAD_SPACING_M = 6.3e-3, 0.381, 38e-3
AZIMUTH_TRAVEL_RAD = math.radians(2.0)
PANEL_REFERENCE_V, PANEL_OFFSET_V = 0.200, 0.0889
LAMP_HYSTERESIS_DB = 0.3
WANDER_HZ = (0.37, 0.91, 2.3, 5.2, 7.9, 11.3)
WORKING_BIAS = math.exp(math.sqrt(3 / 33))  # 3 dB past the peak of 10 kHz, see _sensitivity_db


def azimuth_loss_db(angle_rad: float, frequency_hz: float) -> float:
    """How far a tone of this frequency falls when the gap stands at this angle; 0 or negative."""
    x = math.pi * TRACK_M * math.tan(angle_rad) * frequency_hz / SPEED_M_S
    return 20 * math.log10(max(abs(math.sin(x) / x), 1e-4)) if x else 0.0


def bias_current(wiper: float) -> float:
    """Bias current in units of the one at which 10 kHz peaks; the low end of travel is minimum bias."""
    return 0.45 + 1.45 * wiper


def _sensitivity_db(current: float, frequency_hz: float) -> float:
    """Level on the tape against bias, 0 dB at the working point for every frequency (record equaliser)."""
    narrowness_db = 33 * math.pow(frequency_hz / 10_000, 0.6)
    peak = 1.2 - 0.2 * math.log10(frequency_hz / 1000)
    return narrowness_db * (math.log(WORKING_BIAS / peak) ** 2 - math.log(current / peak) ** 2)


@dataclass(frozen=True, slots=True)
class Tone:
    """A tone on the tape: its level against reference level."""

    frequency_hz: float
    level_db: float


REFERENCE_TAPE: Mapping[str, Tone] = MappingProxyType(
    {AZIMUTH_TONE: Tone(10_000.0, -10.0), REFERENCE_LEVEL: Tone(1000.0, 0.0)}
)
"""The sections of the tape that the machine is aligned with."""


class TapeMachine(Plain):
    """See `Unit`. The seed chooses the phases of the tape's small wander in level, nothing else."""

    name = "open-reel tape machine"
    delay_s = HEAD_SPACING_M / SPEED_M_S
    sections: ClassVar[Mapping[str, Tone]] = REFERENCE_TAPE
    trimmers: Mapping[str, TrimmerPlan] = MappingProxyType(
        {
            "azimuth": TrimmerPlan(hint="screw beside the reproduce head", start=0.505, turns=4),
            "reproduce level": TrimmerPlan(hint="line amplifier", start=0.54),
            "bias": TrimmerPlan(hint="record amplifier; anticlockwise is minimum", start=0.17, slack=0.004),
            "record level": TrimmerPlan(hint="record amplifier", start=0.41),
            "meter zero": TrimmerPlan(hint="meter amplifier", start=0.36),
            "meter scale": TrimmerPlan(hint="meter amplifier; moves the zero too", start=0.38),
            "overload lamp": TrimmerPlan(hint="lamp amplifier", start=0.575),
        }
    )
    controls: Mapping[str, Control] = MappingProxyType(
        {
            "transport": Choice(STOP, (STOP, PLAY, RECORD)),
            "section": Choice(AZIMUTH_TONE, tuple(REFERENCE_TAPE)),
            "oscillator": Switch(start=False),
            "frequency_hz": Dial(1000.0, 20.0, 20_000.0, "Hz"),
            "level_dbu": Dial(-20.0, -60.0, 20.0, "dBu"),
        }
    )

    def __init__(self, seed: int = 0) -> None:
        self._phases = [
            math.modf((seed + 1) * place * 0.6180339887)[0] for place in range(1, 1 + len(WANDER_HZ))
        ]

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        """`output` and `input` in volts ac, `panel` in volts dc."""
        source = _input_volts(now)
        output = self._output_volts(now, before, time_s)
        shown = output if now.controls["transport"] == PLAY else source
        return {"output": output, "input": source, "panel": _panel_volts(now, shown)}

    def lit(self, now: Positions) -> bool:
        """Lit from the threshold upwards, dark again 0.3 dB below it."""
        threshold_dbu = 8.0 + 10.0 * now.wiper("overload lamp")
        return dbu(_input_volts(now)) >= threshold_dbu - (LAMP_HYSTERESIS_DB if now.lit else 0.0)

    def _output_volts(self, now: Positions, before: Positions, time_s: float) -> float:
        hiss = volts(-62)
        tone = self.tone_under_the_head(now, before)
        if tone is None:
            return hiss
        angle_rad = (now.wiper("azimuth") - 0.58) * AZIMUTH_TRAVEL_RAD
        level_db = (
            tone.level_db
            + azimuth_loss_db(angle_rad, tone.frequency_hz)
            + 12.0 * (now.wiper("reproduce level") - 0.46)
            - 0.12 * math.exp(-time_s / 45.0)  # the amplifier warms up
            + self._wander_db(tone.frequency_hz, time_s)
        )
        return math.hypot(volts(REFERENCE_DBU + level_db), hiss)

    def tone_under_the_head(self, now: Positions, before: Positions) -> Tone | None:
        """What the reproduce head sees: the reference tape, or what was recorded a moment ago."""
        transport = now.controls["transport"]
        if transport == PLAY:
            return self.sections[str(now.controls["section"])]
        if transport == RECORD and before.controls["transport"] == RECORD:
            return _recorded(before)
        return None

    def _wander_db(self, frequency_hz: float, time_s: float) -> float:
        """The tape weaves and flutters: within 0.04 dB at 10 kHz, less for longer waves."""
        size_db = 0.016 * math.pow(frequency_hz / 1000, 0.4) / len(WANDER_HZ)
        waves = zip(WANDER_HZ, self._phases, strict=True)
        return size_db * sum(math.sin(math.tau * (wave_hz * time_s + phase)) for wave_hz, phase in waves)


def _input_volts(now: Positions) -> float:
    return source_volts(now, hum_dbu=-75)


def _recorded(before: Positions) -> Tone:
    frequency_hz = float(before.controls["frequency_hz"])
    level_db = (
        dbu(_input_volts(before))
        - REFERENCE_DBU
        + 12.0 * (before.wiper("record level") - 0.52)
        + _sensitivity_db(bias_current(before.wiper("bias")), frequency_hz)
    )
    return Tone(frequency_hz, _saturated_db(level_db))


def _saturated_db(level_db: float) -> float:
    """Tape gives way 12 dB above reference level; at reference level the loss is under 0.01 dB."""
    return level_db - 5 * math.log10(1 + math.pow(10, 4 * (level_db - 12) / 20))


def _panel_volts(now: Positions, signal_volts: float) -> float:
    """The drive of the machine's own level meter.

    A standing offset in front of the gain stage makes the scale trimmer move the zero too: setting one
    and then the other multiplies an error by offset / (reference + offset) = 0.3 each round.
    """
    gain = 0.8 + 0.4 * now.wiper("meter scale")
    zero_volts = 0.0289 + 0.120 * now.wiper("meter zero")
    return gain * (PANEL_REFERENCE_V * signal_volts / volts(REFERENCE_DBU) + PANEL_OFFSET_V) - zero_volts
