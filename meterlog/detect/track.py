"""Where a moving level is now, and how fast it goes: the short line through its last readings.

As many readings as make the present level sure enough, no more: a hand changes its pace. The line ends
where an older reading no longer lies on it. The meter's own averaging (first order) shows what was `lag_s`
ago, level = shown + lag x slope, so the line is carried on by the lag. Readings closer than BUNCH_S (bunches,
fast meters whose neighbours say the same) are taken together.
"""

import math
from collections import deque
from typing import NamedTuple

from meterlog.detect.intake import Point

MOST = 12
"""Readings, or bunches of them, that are kept."""

BUNCH_S = 0.06

LEAST_SPAN_S = 0.15
"""A line over less tells nothing of a hand; noise of fast meters is alike for so long."""

LONGEST_S, LONGEST_LAGS = 1.0, 1.5

BENDS = 9
"""Readings that the noise is learnt from; before there are FEW_BENDS of them, UNKNOWN_NOISE is taken."""
FEW_BENDS = 5
UNKNOWN_NOISE = 0.12

OFF_LINE = 3.0
"""So many standard deviations, and a fiftieth of the scale, off the line: the pace was another one then."""

SURE = 0.04
"""Standard error of the present level, in parts of the scale, that is good enough."""


class Pace(NamedTuple):
    """The level at `at_s` with the lag taken out, its rate of change, and its standard error."""

    at_s: float
    level: float
    rate_per_s: float
    error: float


class Track:
    """Follows one level. `scale` is the size of what matters (the way to go), in the unit of the values."""

    def __init__(self, scale: float, lag_s: float) -> None:
        self._scale, self._lag_s = scale, lag_s
        self._longest_s = max(LONGEST_S, LONGEST_LAGS * lag_s)
        self._points: deque[Point] = deque(maxlen=MOST)
        self._bends: deque[float] = deque(maxlen=BENDS)
        self._bunch: list[Point] = []
        self._bunched_s = -math.inf
        self._latest = math.nan
        self._noise = UNKNOWN_NOISE * scale

    def bunched(self, time_s: float, value: float) -> list[Point]:
        """The reading together with those shortly before it, as one; nothing while they are being gathered.

        What was left of an earlier bunch comes first, for itself. A number that comes again at once was sent
        twice and is no second witness.
        """
        whole = []
        soon = time_s - self._bunched_s < BUNCH_S
        if self._bunch and time_s - self._bunch[-1][0] >= BUNCH_S:
            whole.append(self._end_bunch())
        if not (soon and value == self._latest):
            self._bunch.append((time_s, value))
        self._latest = value
        if not soon:
            self._bunched_s = time_s
            whole.append(self._end_bunch())
        return whole

    def _end_bunch(self) -> Point:
        bunch, self._bunch = self._bunch, []
        middle_s = sum(t for t, _ in bunch) / len(bunch)
        return middle_s, _middle([x for _, x in bunch])

    def noise(self, count: float) -> float:
        """Standard deviation of a reading, the display's count included."""
        return max(self._noise, count / math.sqrt(12.0))

    def begin(self, point: Point) -> None:
        """Forget the way so far: the level jumped here."""
        self._points.clear()
        self._points.append(point)

    def add(self, point: Point) -> None:
        self._points.append(point)
        if len(self._points) >= 3:
            self._bends.append(_bend(self._points[-3], self._points[-2], self._points[-1]))
            self._noise = sorted(self._bends)[len(self._bends) // 2] / 0.6745  # median of |normal| by sigma
            if len(self._bends) < FEW_BENDS:
                self._noise = max(self._noise, UNKNOWN_NOISE * self._scale)

    @property
    def last(self) -> float | None:
        return self._points[-1][1] if self._points else None

    def pace(self, noise: float, period_s: float) -> Pace:
        """Least squares from the last reading back, one more reading at a time."""
        points, lag_s = self._points, self._lag_s
        now_s, last = points[-1]
        oldest_s = max(self._longest_s, 3.5 * period_s)
        least_s = max(LEAST_SPAN_S, period_s)
        most_off, sure = OFF_LINE * noise + self._scale / 50.0, SURE * self._scale
        level, slope, error = last, 0.0, noise
        n, st, sx, stt, stx = 0, 0.0, 0.0, 0.0, 0.0
        for at_s, x in reversed(points):
            t = at_s - now_s
            if n >= 3 and t < -oldest_s:
                break
            if n >= 4 and abs(x - (level + slope * (t - lag_s))) > most_off:
                break
            n += 1
            st += t
            sx += x
            stt += t * t
            stx += t * x
            if t > -least_s or n < 2:
                continue
            square = stt - st * st / n
            slope = (stx - st * sx / n) / square
            reach_s = lag_s - st / n
            level = sx / n + slope * reach_s
            error = noise * math.sqrt(1.0 / n + reach_s * reach_s / square)
            if n >= 3 and error <= sure:
                break
        return Pace(now_s, level, slope, error)


def _middle(values: list[float]) -> float:
    """Median of three and more, so that one wild reading in a bunch does no harm."""
    return sorted(values)[len(values) // 2] if len(values) > 2 else sum(values) / len(values)


def _bend(a: Point, b: Point, c: Point) -> float:
    """How far the middle reading lies from the line through its neighbours, scaled to one reading's noise."""
    part = (b[0] - a[0]) / (c[0] - a[0])
    off = abs(b[1] - a[1] - (c[1] - a[1]) * part)
    return off / math.sqrt(1.0 + part * part + (1.0 - part) ** 2)
