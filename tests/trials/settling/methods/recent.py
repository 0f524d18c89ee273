"""Moving window over the latest readings, with running sums."""

import math
from collections import deque

from tests.trials.settling.trial import Claim

ROUNDING = 1e-9
"""Relative slack: readings exactly a window apart are a window apart, whatever the last bit says."""


class Recent:
    """The readings of the last `span_s`, and the one that begins the span.

    Sums are about the first reading after `clear`, so that a small spread on a large offset keeps its digits.
    """

    __slots__ = ("_dxx", "_origin", "_points", "_span_s", "_st", "_start_s", "_stt", "_stx", "_sx", "_sxx")

    def __init__(self, span_s: float) -> None:
        self._span_s = span_s * (1.0 - ROUNDING)
        self._points: deque[tuple[float, float]] = deque()
        self.clear()

    def clear(self) -> None:
        self._points.clear()
        self._start_s = self._origin = 0.0
        self._st = self._sx = self._stt = self._stx = self._sxx = self._dxx = 0.0

    def add(self, time_s: float, value: float) -> None:
        points = self._points
        if not points:
            self._start_s, self._origin = time_s, value
        t, x = time_s - self._start_s, value - self._origin
        if points:
            self._dxx += (x - points[-1][1]) ** 2
        points.append((t, x))
        self._count(t, x, 1.0)
        while len(points) > 1 and t - points[1][0] >= self._span_s:
            old_t, old_x = points.popleft()
            self._count(old_t, old_x, -1.0)
            self._dxx -= (points[0][1] - old_x) ** 2

    def _count(self, t: float, x: float, sign: float) -> None:
        self._st += sign * t
        self._sx += sign * x
        self._stt += sign * t * t
        self._stx += sign * t * x
        self._sxx += sign * x * x

    @property
    def n(self) -> int:
        return len(self._points)

    @property
    def oldest_s(self) -> float:
        """Time of the reading that begins the span."""
        return self._start_s + self._points[0][0]

    @property
    def full(self) -> bool:
        points = self._points
        return bool(points) and points[-1][0] - points[0][0] >= self._span_s

    @property
    def mean(self) -> float:
        return self._origin + self._sx / self.n

    @property
    def squares(self) -> float:
        """Sum of squares about the mean."""
        return max(0.0, self._sxx - self._sx * self._sx / self.n)

    @property
    def squared_changes(self) -> float:
        """Sum of squares of the changes from reading to reading."""
        return max(0.0, self._dxx)

    @property
    def spread(self) -> float:
        """Standard deviation, n - 1 in the divisor; infinite for a single reading."""
        return math.sqrt(self.squares / (self.n - 1)) if self.n > 1 else math.inf

    def line(self) -> tuple[float, float, float]:
        """Slope per s by least squares, variance about the line, and sum of squares of the times."""
        n = self.n
        stt = self._stt - self._st * self._st / n
        slope = (self._stx - self._st * self._sx / n) / stt
        return slope, max(0.0, self.squares - slope * slope * stt) / (n - 2), stt

    def claim(self, count: float) -> Claim:
        """The mean, with its standard uncertainty as if the readings were independent."""
        variance = self.squares / (self.n - 1) / self.n if self.n > 1 else 0.0
        return Claim(self.mean, math.sqrt(max(variance, count * count / 12.0)))
