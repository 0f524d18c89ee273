"""Straight-line statistics from running sums.

A window is the difference between the sums now and those noted when it started (a mark), so one set of sums
serves every window that ends now. They run about an origin near the readings and are cut back to the oldest
window, so that a small spread on a large offset keeps its digits.
"""

from typing import Final, NamedTuple

MOST_CORRELATION = 0.95


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


Mark = tuple[float, float, int, float, float, float, float, float, float]
"""The sums as they stood when a window started, its own first reading not yet in them.

start_s, start_value, n, t, x, tt, tx, xx, dxx; a bare tuple, for one is made for every other reading.
"""

START_S: Final = 0
N: Final = 2


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
        n, t, x, tt, tx, xx = self.n, self.t, self.x, self.tt, self.tx, self.xx
        self.add(time_s, value)
        return time_s, value, n, t, x, tt, tx, xx, self.dxx

    def middle(self) -> tuple[float, float]:
        """Mean time and mean value of all readings."""
        return self.origin_s + self.t / self.n, self.origin_value + self.x / self.n

    def mean_since(self, mark: Mark) -> float:
        _, _, n, _, x, _, _, _, _ = mark
        return self.origin_value + (self.x - x) / (self.n - n)

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
        now = 0.0, 0.0, self.n, self.t, self.x, self.tt, self.tx, self.xx, self.dxx
        _, _, self.n, self.t, self.x, self.tt, self.tx, self.xx, self.dxx = _moved(now, marks[0], dt, dx)
        self.origin_s, self.origin_value = self.last_s, self.last_value
        return [_moved(mark, marks[0], dt, dx) for mark in marks]


def _moved(mark: Mark, first: Mark, dt: float, dx: float) -> Mark:
    """A mark less the first one, about an origin that lies dt and dx further."""
    start_s, start_value, n, t, x, tt, tx, xx, dxx = mark
    _, _, first_n, first_t, first_x, first_tt, first_tx, first_xx, first_dxx = first
    n, t, x = n - first_n, t - first_t, x - first_x
    return (
        start_s,
        start_value,
        n,
        t - n * dt,
        x - n * dx,
        tt - first_tt - dt * (2.0 * t - n * dt),
        tx - first_tx - dx * t - dt * (x - n * dx),
        xx - first_xx - dx * (2.0 * x - n * dx),
        dxx - first_dxx,
    )


def _correlation(n: int, variance: float, mean_square_step: float) -> float:
    """Lag-1 correlation from the mean square step between neighbours, the way of von Neumann's ratio (1941).

    Taking a line out lowers it by about (2 + 4 r) / n, which is given back (Marriott and Pope,
    Biometrika 41 (1954) 390, for a mean alone (1 + 3 r) / n or (1 + 4 r) / n; twice the constant for a
    line, checked by simulation).
    """
    lowered = 1.0 - mean_square_step / (2.0 * variance)
    return min(MOST_CORRELATION, lowered + 4.0 * lowered / n) if lowered > 0.0 else 0.0
