"""Readings of one channel until the level has settled, and what is then known of it. Pure."""

from collections.abc import Callable
from typing import NamedTuple

from meterlog.accuracy import expanded_uncertainty
from meterlog.detect import Motion, Settled, Settlement, Tolerance, explain
from meterlog.reading import LOW_BATTERY, Reading

COUNTS = 4.0
"""Of the display: a level cannot be asked to stand stiller than its last digit shows."""


class Capture(NamedTuple):
    """What a channel settled at, base unit; the uncertainties are of scatter and last digit alone.

    full_scale  the range of the last reading, None where the meter does not say
    time_ns     UTC, of the last reading
    """

    value: float
    standard_uncertainty: float
    degrees_of_freedom: float
    expanded_uncertainty: float
    resolution: float
    readings: int
    full_scale: float | None
    time_ns: int
    low_battery: bool


class Steady:
    """settle: how still, a half-width at a value; never finer than a few counts of the display."""

    def __init__(self, settle: Tolerance, dwell_s: float, *, lag_s: float = 0.0, count: float = 0.0) -> None:
        self._settle, self._count = settle, count
        self._detector = Settled(self._tolerance, dwell_s, lag_s=lag_s)
        self._began_ns: int | None = None
        self._verdict = Settlement(Motion.WAITING)
        self._unfit: frozenset[str] = frozenset()
        self._last: Reading | None = None

    def take(self, reading: Reading) -> None:
        if self._began_ns is None:
            self._began_ns = reading.monotonic_ns
        at_s = (reading.monotonic_ns - self._began_ns) / 1e9
        self._last, self._unfit = reading, reading.unfit
        self._count = reading.resolution or self._count
        if reading.unfit:
            self._verdict = self._detector.hold(at_s)
            return
        self._verdict = self._detector.update(
            at_s, reading.value, reading.state, resolution=self._count, range_max=reading.range_max
        )

    @property
    def capture(self) -> Capture | None:
        """None until it has settled."""
        found, last = self._verdict, self._last
        if found.motion is not Motion.SETTLED or last is None or found.value is None:
            return None
        assert found.standard_uncertainty is not None
        assert found.degrees_of_freedom is not None
        expanded, _ = expanded_uncertainty(found.standard_uncertainty, found.degrees_of_freedom)
        return Capture(
            found.value,
            found.standard_uncertainty,
            found.degrees_of_freedom,
            expanded,
            self._count,
            found.readings,
            last.range_max,
            last.time_ns,
            LOW_BATTERY in last.flags,
        )

    def why_not(self, show: Callable[[float], str]) -> str:
        """Why it has not settled, in words; `show` writes a value."""
        if self._last is None:
            return "no reading came"
        if self._unfit:
            return f"the meter's display is on {', '.join(sorted(self._unfit)).upper()}: switch that off"
        return explain(self._verdict, show)

    def _tolerance(self, value: float) -> float:
        return max(self._settle(value), COUNTS * self._count)
