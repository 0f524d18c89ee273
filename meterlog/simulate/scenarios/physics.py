"""What many units share: levels, loading, warming up, noise. 0 dBu = sqrt(0.6) V."""

import math
from collections.abc import Mapping

from meterlog.simulate.hands import Knob
from meterlog.simulate.policies import StepPlan
from meterlog.simulate.unit import Control, Dial, Positions, Switch

DBU_V = math.sqrt(0.6)
SOURCE_OHM, INPUT_OHM = 600.0, 10_000.0
LEVEL = Knob(name="level_dbu", is_dial=True, speed=3.0, sweep=0.5, probe=0.5, stroke=4.0, fine=0.02)
"""The hand on the oscillator's level."""
WARM = StepPlan(patience_s=6.0)
"""These units are warm soon; the person ends the wait by foot."""


def volts(dbu: float) -> float:
    return DBU_V * math.pow(10, dbu / 20)


def dbu(level_volts: float) -> float:
    return 20 * math.log10(max(level_volts, 1e-9) / DBU_V)


def gain(db: float) -> float:
    return math.pow(10, db / 20)


def warmth(time_s: float, time_constant_s: float) -> float:
    """0 when switched on, towards 1 when warm: first order, as a case that heats up."""
    return 1 - math.exp(-time_s / time_constant_s)


def charge(now: Positions, time_s: float, *, bleeding_s: float) -> float:
    """Of a supply's capacitors, 1 when full: charged within a second of the mains coming on, and bled with
    this time constant from when it was switched off (textbook)."""
    for_s = now.for_s("mains", time_s)
    return 1 - math.exp(-for_s / 0.2) if now.controls["mains"] else math.exp(-for_s / bleeding_s)


def wander(time_s: float, size: float, phase: float = 0.0) -> float:
    """A slow unrest within `size`: three waves that have no common period. Invented."""
    waves = (0.23, 0.71, 1.9)
    return size * sum(math.sin(math.tau * (hz * time_s + phase * hz)) for hz in waves) / len(waves)


def oscillator(*, level_dbu: float, low: float = -60.0) -> Mapping[str, Control]:
    """A sine source's controls; `level_dbu` is what its dial says before anybody has touched it."""
    return {
        "oscillator": Switch(start=False),
        "frequency_hz": Dial(1000.0, 10.0, 100_000.0, "Hz"),
        "level_dbu": Dial(level_dbu, low, 24.0, "dBu"),
    }


def source_volts(now: Positions, hum_dbu: float = -80.0) -> float:
    """What such a source gives to a 10 kohm input: its dial tells the open voltage, 0.5 dB more."""
    if not now.controls["oscillator"]:
        return volts(hum_dbu)
    open_volts = volts(float(now.controls["level_dbu"]))
    return math.hypot(open_volts * INPUT_OHM / (INPUT_OHM + SOURCE_OHM), volts(hum_dbu))


def tone(frequency_hz: float = 1000.0, **controls: str | bool | float) -> dict[str, str | bool | float]:
    """The oscillator on at this frequency, for a step's controls."""
    return {"oscillator": True, "frequency_hz": frequency_hz, **controls}


def frequency(now: Positions) -> float:
    return float(now.controls["frequency_hz"])


def low_pass(frequency_hz: float, corner_hz: float) -> float:
    """Magnitude of one RC section (textbook)."""
    return 1 / math.hypot(1, frequency_hz / corner_hz)


def high_pass(frequency_hz: float, corner_hz: float) -> float:
    return 1 / math.hypot(1, corner_hz / frequency_hz)
