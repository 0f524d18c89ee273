"""Straight-line statistics of nested windows that all end now.

One set of running sums serves every window: a window is the difference between the sums now and those
noted when it started (a mark), so a reading costs the same however many windows there are. The sums run
about an origin near the readings and are cut back to the oldest window, so that a small spread on a large
offset keeps its digits. Marks are thinned out with age: their number depends on the ratio of the longest
window to the shortest, not on the number of readings.
"""

import math
from collections import deque
from collections.abc import Iterator
from typing import NamedTuple

STARTS_PER_SHORTEST = 8
"""Windows started within the shortest one: its end is met to an eighth."""

AGE_RATIO = 2.0
"""Least ratio of the ages of a window's neighbours beyond the shortest."""

MOST_CORRELATION = 0.95

LEAST_READINGS = 3
"""Readings that bear a line with something over to tell their scatter."""

ROUNDING = 1e-9
"""Relative slack for ages: readings exactly a dwell apart are a dwell apart, whatever the last bit says."""


class Line(NamedTuple):
    """Least-squares line through a window's readings.

    mean, slope_per_s   in base units; the mean is the line's height at the middle of the readings
    variance            of the readings about the line, n - 2 in the divisor
    correlation         of neighbouring residuals (lag 1), cut to 0..0.95
    stt                 sum of squares of the times about their mean, s^2
    """

    start_s: float
    span_s: float
    n: int
    mean: float
    slope_per_s: float
    variance: float
    correlation: float
    stt: float

    @property
    def widening(self) -> float:
        """By how much correlated readings say less than independent ones: (1 + r) / (1 - r), first order."""
        return (1.0 + self.correlation) / (1.0 - self.correlation)


class Mark(NamedTuple):
    """The sums as they stood when a window started, its own first reading not yet in them."""

    start_s: float
    start_value: float
    n: int
    t: float
    x: float
    tt: float
    tx: float
    xx: float
    dxx: float


class Sums:
    """Running sums of times t and values x about an origin, and of the squared steps between neighbours."""

    __slots__ = ("dxx", "last_s", "last_value", "n", "origin_s", "origin_value", "t", "tt", "tx", "x", "xx")

    def __init__(self, time_s: float, value: float) -> None:
        self.origin_s = self.last_s = time_s
        self.origin_value = self.last_value = value
        self.n = 0
        self.t = self.x = self.tt = self.tx = self.xx = self.dxx = 0.0

    def add(self, time_s: float, value: float) -> None:
        change = value - self.last_value
        t, x = time_s - self.origin_s, value - self.origin_value
        self.dxx += change * change
        self.n += 1
        self.t += t
        self.x += x
        self.tt += t * t
        self.tx += t * x
        self.xx += x * x
        self.last_s, self.last_value = time_s, value

    def start(self, time_s: float, value: float) -> Mark:
        """Take a reading with which a window starts."""
        change = value - self.last_value
        before = self.n, self.t, self.x, self.tt, self.tx, self.xx, self.dxx + change * change
        self.add(time_s, value)
        return Mark(time_s, value, *before)

    def middle(self) -> tuple[float, float]:
        """Mean time and mean value of all readings."""
        return self.origin_s + self.t / self.n, self.origin_value + self.x / self.n

    def mean_since(self, mark: Mark) -> float:
        return self.origin_value + (self.x - mark.x) / (self.n - mark.n)

    def line_since(self, mark: Mark) -> Line:
        """The line through the readings since a mark, three at least."""
        start_s, start_value, n, t, x, tt, tx, xx, dxx = mark
        n = self.n - n
        t = self.t - t
        x = self.x - x
        mean = x / n
        stt = self.tt - tt - t * t / n
        slope = (self.tx - tx - t * mean) / stt
        squares = self.xx - xx - x * mean - slope * slope * stt
        span_s = self.last_s - start_s
        correlation = variance = 0.0
        if squares > 0.0:
            variance = squares / (n - 2)
            # Less what the slope alone makes of it, as if the readings came evenly.
            travel = slope * span_s
            steps = self.dxx - dxx - travel * (2.0 * (self.last_value - start_value) - travel) / (n - 1)
            correlation = _correlation(n, variance, steps / (n - 1))
        return Line(start_s, span_s, n, self.origin_value + mean, slope, variance, correlation, stt)

    def rebase(self, marks: list[Mark]) -> list[Mark]:
        """Forget what came before the first mark and move the origin to the last reading; moved marks."""
        dt, dx = self.last_s - self.origin_s, self.last_value - self.origin_value
        now = Mark(0.0, 0.0, self.n, self.t, self.x, self.tt, self.tx, self.xx, self.dxx)
        _, _, self.n, self.t, self.x, self.tt, self.tx, self.xx, self.dxx = _moved(now, marks[0], dt, dx)
        self.origin_s, self.origin_value = self.last_s, self.last_value
        return [_moved(mark, marks[0], dt, dx) for mark in marks]


def _moved(mark: Mark, first: Mark, dt: float, dx: float) -> Mark:
    """A mark less the first one, about an origin that lies dt and dx further."""
    n, t, x = mark.n - first.n, mark.t - first.t, mark.x - first.x
    return Mark(
        mark.start_s,
        mark.start_value,
        n,
        t - n * dt,
        x - n * dx,
        mark.tt - first.tt - dt * (2.0 * t - n * dt),
        mark.tx - first.tx - dx * t - dt * (x - n * dx),
        mark.xx - first.xx - dx * (2.0 * x - n * dx),
        mark.dxx - first.dxx,
    )


def _correlation(n: int, variance: float, mean_square_step: float) -> float:
    """Lag-1 correlation from the mean square step between neighbours, the way of von Neumann's ratio (1941).

    Taking a line out lowers it by about (2 + 4 r) / n, which is given back (Marriott and Pope,
    Biometrika 41 (1954) 390, for a mean alone (1 + 3 r) / n or (1 + 4 r) / n; twice the constant for a
    line, checked by simulation).
    """
    lowered = 1.0 - mean_square_step / (2.0 * variance)
    return min(MOST_CORRELATION, lowered + 4.0 * lowered / n) if lowered > 0.0 else 0.0


class Windows:
    """Windows that end now, from the shortest admitted age to the longest."""

    def __init__(self, shortest_s: float, longest_s: float) -> None:
        self._shortest_s = shortest_s * (1.0 - ROUNDING)
        self._longest_s = longest_s
        self._spacing_s = self._shortest_s / STARTS_PER_SHORTEST
        self.clear()

    def clear(self) -> None:
        self._sums: Sums | None = None
        self._young: deque[Mark] = deque()
        self._grown: list[Mark] = []
        self._next_s = -math.inf
        self._turn = 0

    def add(self, time_s: float, value: float) -> bool:
        """Take a reading. True when a window has come of age with it: there is a new shortest one."""
        sums, young = self._sums, self._young
        if sums is None:
            sums = self._sums = Sums(time_s, value)
        if time_s < self._next_s:
            sums.add(time_s, value)
        else:
            young.append(sums.start(time_s, value))
            self._next_s = time_s + self._spacing_s
        if time_s - young[0].start_s < self._shortest_s:
            return False
        while time_s - young[0].start_s >= self._shortest_s:
            self._grown.append(young.popleft())
        self._thin(time_s)
        return True

    @property
    def grown(self) -> bool:
        """Whether there is a window as long as the shortest admitted."""
        return bool(self._grown)

    def shortest(self) -> Line | None:
        """Line of the shortest window with enough readings; None before there is one."""
        mark = self._shortest()
        return None if self._sums is None or mark is None else self._sums.line_since(mark)

    def shortest_mean(self) -> float | None:
        """Mean of the shortest window with enough readings."""
        mark = self._shortest()
        return None if self._sums is None or mark is None else self._sums.mean_since(mark)

    def another(self) -> Line | None:
        """Line of one of the longer windows, another one each time; None if there is none."""
        if self._sums is None or len(self._grown) < 2:
            return None
        self._turn = (self._turn - 1) % (len(self._grown) - 1)
        mark = self._grown[self._turn]
        return self._sums.line_since(mark) if self._sums.n - mark.n >= LEAST_READINGS else None

    def longest_first(self) -> Iterator[Line]:
        """Lines of all windows old enough and with enough readings."""
        if self._sums is not None:
            latest = self._sums.n - LEAST_READINGS
            yield from (self._sums.line_since(mark) for mark in self._grown if mark.n <= latest)

    def _shortest(self) -> Mark | None:
        if self._sums is None:
            return None
        latest = self._sums.n - LEAST_READINGS
        for mark in reversed(self._grown):
            if mark.n <= latest:
                return mark
        return None

    def cut(self, start_s: float) -> None:
        """Give up the window that started then, and all older ones, for good."""
        self._grown = [mark for mark in self._grown if mark.start_s > start_s]
        self._rebase()

    def cut_longer(self) -> None:
        """Give up all windows but the shortest, for good."""
        del self._grown[:-1]
        self._rebase()

    def _thin(self, now_s: float) -> None:
        """Drop what is too old and what lies too close between its neighbours."""
        grown, old = self._grown, 0
        for i in range(len(grown) - 2, 0, -1):
            if now_s - grown[i - 1].start_s < AGE_RATIO * (now_s - grown[i + 1].start_s):
                del grown[i]
        while len(grown) > old + 1 and now_s - grown[old + 1].start_s >= self._longest_s:
            old += 1
        if old:
            del grown[:old]
            self._rebase()

    def _rebase(self) -> None:
        if self._sums is not None and (marks := [*self._grown, *self._young]):
            marks = self._sums.rebase(marks)
            split = len(self._grown)
            self._grown, self._young = marks[:split], deque(marks[split:])
