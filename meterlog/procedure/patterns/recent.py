"""What a level is at this moment, for the hand that turns: the last readings, as far as they agree.

`Settled` judges where a level will come to rest; while a hand still turns that runs ahead of the truth and
snaps back, and once settled it stands while the hand makes small movements. Whoever turns needs the level
as it is. No value is captured from it.
"""

import math
from collections import deque
from itertools import pairwise

from meterlog.quantity import Span

Point = tuple[float, float]


class Lag:
    """Takes the meter's own averaging out of its readings.

    A first-order average obeys level = shown + lag x slope of what is shown. Meant over a stretch that holds
    without knowing the slope: mean level = mean shown + lag x (last - first shown) / length. The stretch is
    long enough that the noise is not much enlarged, short enough that a hand is not hidden.
    """

    LEAST_S, LEAST_LAGS = 0.2, 0.6

    def __init__(self, lag_s: float) -> None:
        self._lag_s = lag_s
        self._stretch_s = max(self.LEAST_S, self.LEAST_LAGS * lag_s)
        self._points: deque[Point] = deque()

    @property
    def enlarges(self) -> float:
        """How many times the scatter of the readings is that of what is made of them."""
        return math.hypot(1.0, math.sqrt(2.0) * self._lag_s / self._stretch_s)

    def clear(self) -> None:
        self._points.clear()

    def taken_out(self, at_s: float, value: float) -> float:
        """The level now, from the reading just made; the reading itself where there is none before it."""
        if self._lag_s == 0.0:
            return value
        self._points.append((at_s, value))
        while len(self._points) > 2 and at_s - self._points[1][0] >= self._stretch_s:
            self._points.popleft()
        first_s, first = self._points[0]
        if first_s == at_s:
            return value
        length_s = at_s - first_s
        return _area(self._points) / length_s + self._lag_s * (value - first) / length_s


def _area(points: deque[Point]) -> float:
    """Under the line through the points."""
    return sum((b[0] - a[0]) * (a[1] + b[1]) / 2.0 for a, b in pairwise(points))


class Way:
    """How fast a level goes: the slower half of the last stretch, and 0 unless both halves go one way.

    So noise is no way, and a short movement of the hand hardly.
    """

    STRETCH_S = 0.5

    def __init__(self) -> None:
        self._points: deque[Point] = deque()

    def clear(self) -> None:
        self._points.clear()

    def feed(self, at_s: float, level: float) -> None:
        """Of two readings of one moment (a meter held up sends them together) the later one counts."""
        if self._points and at_s <= self._points[-1][0]:
            self._points.pop()
        self._points.append((at_s, level))
        while len(self._points) > 3 and at_s - self._points[1][0] >= self.STRETCH_S:
            self._points.popleft()

    def on(self, seconds: float) -> float:
        """How far it goes in this time and one interval between readings more."""
        if len(self._points) < 3:
            return 0.0
        first, middle, last = self._points[0], self._points[len(self._points) // 2], self._points[-1]
        before, after = _rate(first, middle), _rate(middle, last)
        rate_per_s = min(before, after, key=abs) if before * after > 0.0 else 0.0
        return rate_per_s * (seconds + (last[0] - first[0]) / (len(self._points) - 1))


def _rate(one: Point, other: Point) -> float:
    return (other[1] - one[1]) / (other[0] - one[0])


class Recent:
    """Mean of the last levels, those not older than `LONGEST_S` and within `SHARE` of `span` of the newest.

    More would be smoother, and late: what still averages over a small movement hides it from the hand.
    """

    LONGEST_S = 0.6
    MOST = 8
    SHARE = 0.25

    def __init__(self, span: Span, lag_s: float = 0.0) -> None:
        """`lag_s`: of the meter's own averaging, which is taken out; 0 if unknown."""
        self._span = span
        self._lag = Lag(lag_s)
        self._way = Way()
        self._points: deque[Point] = deque(maxlen=self.MOST)
        self.level: float | None = None
        self.readings = 0

    def clear(self) -> None:
        self._lag.clear()
        self._way.clear()
        self._points.clear()
        self.level, self.readings = None, 0

    def feed(self, at_s: float, value: float | None) -> None:
        """A display without a number ends what was seen before."""
        if value is None:
            self.clear()
            return
        level = self._lag.taken_out(at_s, value)
        self._way.feed(at_s, level)
        limit = self.SHARE * self._span.half_width(value)
        while self._points and at_s - self._points[0][0] > self.LONGEST_S:
            self._points.popleft()
        while self._points and not self._agrees(level, limit):
            self._points.popleft()
        self._points.append((at_s, level))
        self.readings = len(self._points)
        self.level = sum(level for _, level in self._points) / self.readings

    @property
    def scatter(self) -> float:
        """Of a level, in scatters of a reading."""
        return self._lag.enlarges

    def soon(self, seconds: float) -> float | None:
        """Where the level will be if the hand goes on as it does."""
        return None if self.level is None else self._points[-1][1] + self._way.on(seconds)

    def _agrees(self, level: float, limit: float) -> bool:
        return all(abs(other - level) <= limit for _, other in self._points)
