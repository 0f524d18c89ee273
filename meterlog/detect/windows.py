"""Straight-line statistics of nested windows that all end now.

Each window grows: it takes every reading from its start on, in sums about its own first reading (so that
a small spread on a large offset keeps its digits). Starts are thinned out with age, so the number of
windows depends on the ratio of the longest to the shortest, not on the number of readings.
"""

from typing import NamedTuple

STARTS_PER_SHORTEST = 8
"""Windows started within the shortest one: its end is met to an eighth."""

AGE_RATIO = 2.0
"""Least ratio of the ages of a window's neighbours beyond the shortest."""

MOST_CORRELATION = 0.95

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


class Window:
    """Sums over all readings since its start."""

    __slots__ = ("_dtt", "_dxt", "_dxx", "_st", "_stt", "_stx", "_sx", "_sxx", "n", "start_s", "start_value")

    def __init__(self, time_s: float, value: float) -> None:
        self.start_s, self.start_value, self.n = time_s, value, 1
        self._st = self._sx = self._stt = self._stx = self._sxx = 0.0
        self._dtt = self._dxt = self._dxx = 0.0

    def add(self, time_s: float, value: float, interval_s: float, change: float) -> None:
        """Take a reading; `interval_s` and `change` are those from the reading before it."""
        t, x = time_s - self.start_s, value - self.start_value
        self.n += 1
        self._st += t
        self._sx += x
        self._stt += t * t
        self._stx += t * x
        self._sxx += x * x
        self._dtt += interval_s * interval_s
        self._dxt += interval_s * change
        self._dxx += change * change

    def middle(self) -> tuple[float, float]:
        """Mean time and mean value."""
        return self.start_s + self._st / self.n, self.start_value + self._sx / self.n

    def line(self, now_s: float) -> Line:
        """The line through at least three readings."""
        n = self.n
        mean = self._sx / n
        stt = self._stt - self._st * self._st / n
        slope = (self._stx - self._st * mean) / stt
        squares = max(0.0, self._sxx - self._sx * mean - slope * slope * stt)
        changes = self._dxx - 2.0 * slope * self._dxt + slope * slope * self._dtt
        correlation = _correlation(n, squares, changes)
        variance = squares / (n - 2)
        span_s = now_s - self.start_s
        return Line(self.start_s, span_s, n, self.start_value + mean, slope, variance, correlation, stt)


def _correlation(n: int, squares: float, changes: float) -> float:
    """Lag-1 correlation from the sum of squared changes, the way of von Neumann's ratio (1941).

    Taking a line out lowers it by about (2 + 4 r) / n, which is given back (Marriott and Pope,
    Biometrika 41 (1954) 390, for a mean alone (1 + 3 r) / n or (1 + 4 r) / n; twice the constant for a
    line, checked by simulation).
    """
    if squares <= 0.0:
        return 0.0
    lowered = 1.0 - (changes / (n - 1)) / (2.0 * squares / (n - 2))
    return min(MOST_CORRELATION, max(0.0, lowered + 4.0 * max(0.0, lowered) / n))


class Windows:
    """Windows that end now, from the shortest admitted age to the longest."""

    def __init__(self, shortest_s: float, longest_s: float) -> None:
        self._shortest_s = shortest_s * (1.0 - ROUNDING)
        self._longest_s = longest_s
        self.spacing_s = self._shortest_s / STARTS_PER_SHORTEST
        self._windows: list[Window] = []
        self._last_s = self._last_value = 0.0

    def add(self, time_s: float, value: float) -> None:
        interval_s, change = time_s - self._last_s, value - self._last_value
        for window in self._windows:
            window.add(time_s, value, interval_s, change)
        if not self._windows or time_s - self._windows[-1].start_s >= self.spacing_s:
            self._windows.append(Window(time_s, value))
            self._thin(time_s)
        self._last_s, self._last_value = time_s, value

    def clear(self) -> None:
        self._windows.clear()

    def lines(self, least_n: int, largest_variance: float) -> list[Line]:
        """Lines of all windows old enough and with enough readings, shortest first.

        A window with more than `largest_variance` holds a move; it and all older ones are dropped for good.
        """
        lines: list[Line] = []
        for i in range(len(self._windows) - 1, -1, -1):
            window = self._windows[i]
            if self._last_s - window.start_s < self._shortest_s or window.n < least_n:
                continue
            line = window.line(self._last_s)
            if line.variance > largest_variance:
                del self._windows[: i + 1]
                break
            lines.append(line)
        return lines

    def _thin(self, now_s: float) -> None:
        """Drop what is too old and what lies too close between its neighbours."""
        windows = self._windows
        while len(windows) > 1 and now_s - windows[1].start_s >= self._longest_s:
            del windows[0]
        for i in range(len(windows) - 2, 0, -1):
            younger_s = now_s - windows[i + 1].start_s
            if younger_s > self._shortest_s and now_s - windows[i - 1].start_s < AGE_RATIO * younger_s:
                del windows[i]
