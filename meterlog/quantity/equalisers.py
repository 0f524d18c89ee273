"""Curves that a response is held against, computed from their time constants.

The disc replay curve of IEC 60098 has the time constants 3180, 318 and 75 us; its amendment 4 adds 7950 us,
a high-pass filter for the bass. A response is only known about some reference frequency, so it is given so.
"""

import math
from collections.abc import Callable, Mapping
from types import MappingProxyType

from meterlog.quantity.decibel import difference_db

LOW_S, MIDDLE_S, HIGH_S, RUMBLE_S = 3180e-6, 318e-6, 75e-6, 7950e-6

Curve = Callable[[float], float]
"""From a frequency in hertz to a voltage gain, on no particular scale."""


def _pole(hertz: float, seconds: float) -> float:
    """Magnitude of 1 + jwT."""
    return math.hypot(1.0, math.tau * hertz * seconds)


def _replay(hertz: float) -> float:
    return _pole(hertz, MIDDLE_S) / (_pole(hertz, LOW_S) * _pole(hertz, HIGH_S))


def _replay_with_rumble_filter(hertz: float) -> float:
    return _replay(hertz) * math.tau * hertz * RUMBLE_S / _pole(hertz, RUMBLE_S)


def _flat(_hertz: float) -> float:
    return 1.0


CURVES: Mapping[str, Curve] = MappingProxyType(
    {"flat": _flat, "riaa": _replay, "riaa-7950-us": _replay_with_rumble_filter}
)
"""By the name that a procedure calls them by."""

USUAL_HZ = (20, 30, 50, 70, 100, 200, 300, 500, 700, 1e3, 2e3, 3e3, 5e3, 7e3, 10e3, 15e3, 20e3)
"""Where a response is looked at unless a procedure says otherwise: about three a decade, common practice."""


def response_db(curve: str, hertz: float, about_hz: float) -> float:
    """The curve at a frequency in dB about that at another. KeyError for a name that is none of `CURVES`."""
    return difference_db(CURVES[curve](hertz), CURVES[curve](about_hz))
