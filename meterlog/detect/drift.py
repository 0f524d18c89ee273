"""Drift rate: slope over a long window, with its standard error."""

import math
from collections import deque
from dataclasses import dataclass

from meterlog.detect.intake import Gate, Intake, Point
from meterlog.detect.sums import Line, Sums
from meterlog.reading import State

BATCHES = 48
"""Batches per window. Means of batches are nearly independent of each other however fast the meter is."""

FEWEST = 5
"""Batches before anything is said."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drift:
    """How a level drifts. Rate, its error and the level are None until they can be told.

    rate_per_s          slope by least squares, base unit per second
    standard_error      of that slope, widened for the correlation of neighbouring batches and for the count
    degrees_of_freedom  of that error
    span_s              from the first to the last batch used
    level               mean over the window, base unit
    readings            number used
    """

    rate_per_s: float | None = None
    standard_error: float | None = None
    degrees_of_freedom: float | None = None
    span_s: float = 0.0
    level: float | None = None
    readings: int = 0


class DriftRate:
    """Slope over the last `window_s` seconds, brought up to date whenever a batch (a 48th of it) is full.

    A gap, a range change or a reading without a value begins anew. Raises ValueError for a time not above 0.
    """

    def __init__(self, window_s: float = 60.0, *, reading_period_s: float | None = None) -> None:
        if not (window_s > 0.0 and math.isfinite(window_s)):
            raise ValueError(f"window_s is {window_s}: give seconds above 0")
        self._window_s, self._batch_s = window_s, window_s / BATCHES
        self._gate = Gate(reading_period_s)
        self._begin()

    def reset(self) -> None:
        """Forget what was seen, keep the rhythm learnt."""
        self._gate.reset()
        self._begin()

    def silent(self, time_s: float) -> bool:
        """Whether readings have ceased to come: what was found is none of now."""
        return self._gate.silent(time_s)

    def update(
        self,
        time_s: float,
        value: float | None,
        state: State,
        *,
        resolution: float = 0.0,
        range_max: float | None = None,
    ) -> Drift:
        """Take a reading. Raises ValueError as `Settled.update` does."""
        intake = self._gate.sort(time_s, value, state, range_max)
        if intake is Intake.BROKEN or intake is Intake.FRESH:
            self._begin()
        if value is not None and intake is not Intake.IGNORED:
            self._take(time_s, value, resolution)
        return self._drift

    def _begin(self) -> None:
        self._full: deque[Sums] = deque(maxlen=BATCHES)
        self._filling: Sums | None = None
        self._drift = Drift()

    def _take(self, time_s: float, value: float, count: float) -> None:
        filling = self._filling
        if filling is None:
            self._filling = _batch(time_s, value)
        elif time_s - filling.origin_s < self._batch_s:
            filling.add(time_s, value)
        else:
            self._full.append(filling)
            self._filling = _batch(time_s, value)
            self._judge(count)

    def _judge(self, count: float) -> None:
        while self._full[-1].origin_s - self._full[0].origin_s > self._window_s:
            self._full.popleft()
        if len(self._full) >= FEWEST:
            line = _line([batch.middle() for batch in self._full])
            self._drift = _drift(line, count, sum(batch.n for batch in self._full))


def _batch(time_s: float, value: float) -> Sums:
    batch = Sums(time_s, value)
    batch.add(time_s, value)
    return batch


def _line(points: list[Point]) -> Line:
    sums = Sums(*points[0])
    mark = sums.start(*points[0])
    for point in points[1:]:
        sums.add(*point)
    return sums.line_since(mark)


def _drift(line: Line, count: float, readings: int) -> Drift:
    variance = line.variance * line.widening + count * count / 12.0
    return Drift(
        rate_per_s=line.slope_per_s,
        standard_error=math.sqrt(variance / line.stt),
        degrees_of_freedom=max(1.0, line.n / line.widening - 2.0),
        span_s=line.span_s,
        level=line.mean,
        readings=readings,
    )
