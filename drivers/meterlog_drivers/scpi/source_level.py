"""What the amplitude of a generator counts, and what load its display takes for granted. Pure.

A sine: peak = sqrt(2) rms, peak-to-peak twice that; dBm = 10 lg (U² / R / 1 mW), so 0 dBm in 50 ohm are
0.2236 V and in 600 ohm 0.7746 V. The number is the level across the load that the generator is told of, not
across the one it has: told another, it shows another number for the same voltage at its terminals.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from meterlog.reading import Garbled, State
from meterlog_drivers.scpi.answers import parse_elements, parse_text

PER_RMS: Mapping[str, float] = {"rms": 1.0, "peak": math.sqrt(2.0), "peak-to-peak": 2.0 * math.sqrt(2.0)}
"""What the option `amplitude` may state; the number for 1 V rms."""
DBM = "dbm"
UNITS: Mapping[str, str] = {"VRMS": "rms", "VPP": "peak-to-peak", "VP": "peak", "VPK": "peak", "DBM": DBM}
"""Answers to VOLT:UNIT?. VP and VPK are from memory."""
HIGH_IMPEDANCE = math.inf


@dataclass(frozen=True, slots=True)
class Counting:
    """amplitude: one of PER_RMS or DBM; load_ohm: None where the source does not tell."""

    amplitude: str
    load_ohm: float | None = None

    def number_of(self, level_v: float) -> float:
        """What is sent for a level. ValueError: it cannot be said in this unit, and what to do."""
        if self.amplitude != DBM:
            return level_v * PER_RMS[self.amplitude]
        if level_v <= 0.0:
            raise ValueError(f"{level_v:g} V cannot be said in dBm: set the source to VRMS or VPP")
        return 10.0 * math.log10(level_v**2 / self._dbm_load() / 1e-3)

    def level_of(self, number: float) -> float:
        """Volts rms; ValueError as `number_of`."""
        if self.amplitude != DBM:
            return number / PER_RMS[self.amplitude]
        return math.sqrt(10.0 ** (number / 10.0) * 1e-3 * self._dbm_load())

    def _dbm_load(self) -> float:
        if self.load_ohm is None or not math.isfinite(self.load_ohm):
            raise ValueError(
                f"the source counts in dBm across {said(self.load_ohm)}, which says no voltage: "
                "set it to VRMS or VPP"
            )
        return self.load_ohm


def parse_unit(content: bytes) -> str:
    """An answer to VOLT:UNIT?, as one of PER_RMS or DBM. Raises Garbled."""
    unit = parse_text(content).upper()
    if unit not in UNITS:
        raise Garbled(f"the source counts its amplitude in {unit!r}; known are {', '.join(UNITS)}")
    return UNITS[unit]


def parse_load(content: bytes) -> float:
    """An answer to OUTP:LOAD? in ohms; high impedance is 9.9E37 or INF. Raises Garbled."""
    if parse_text(content).upper() in ("INF", "INFINITY"):
        return HIGH_IMPEDANCE
    elements = parse_elements(content)
    if len(elements) == 1 and elements[0].state is State.OVERLOAD:
        return HIGH_IMPEDANCE
    if len(elements) != 1 or not (elements[0].value or 0.0) > 0.0:
        raise Garbled(f"OUTP:LOAD? was answered with {content[:40]!r}, which is no load")
    return elements[0].value or 0.0


def said(load_ohm: float | None) -> str:
    """A load as a person says it."""
    if load_ohm is None:
        return "a load that it does not tell"
    return f"{load_ohm:g} ohm" if math.isfinite(load_ohm) else "high impedance"


def same_load(one: float, other: float) -> bool:
    return one == other or math.isclose(one, other, rel_tol=1e-3)
