"""A short straight line through the last readings, carried on to now: moving linear regression."""

from collections.abc import Sequence
from typing import NamedTuple

from tests.trials.falling.methods.intake import Point, Streaming, Window
from tests.trials.falling.trial import Task


class Line(NamedTuple):
    """gone(t) = mean + slope (t - mean_s)"""

    mean_s: float
    mean: float
    slope: float

    def at(self, time_s: float) -> float:
        return self.mean + self.slope * (time_s - self.mean_s)


def least_squares(points: Sequence[Point]) -> Line:
    """Least squares (Legendre 1805; any textbook). A single point or time: a level line."""
    n = len(points)
    mean_s, mean = sum(p.time_s for p in points) / n, sum(p.gone for p in points) / n
    square = sum((p.time_s - mean_s) ** 2 for p in points)
    slope = sum((p.time_s - mean_s) * (p.gone - mean) for p in points) / square if square else 0.0
    return Line(mean_s, mean, slope)


class ShortLine(Streaming):
    """`lag_share` carries the line on by so much of the meter's lag; the usual form knows no lag."""

    def __init__(
        self,
        task: Task,
        *,
        seconds: float,
        fewest: int,
        margin: float = 0.0,
        lag_share: float = 0.0,
        smooth: int = 1,
    ) -> None:
        super().__init__(task, smooth)
        self._window, self._limit = Window(seconds, fewest), 1.0 - margin
        self._ahead_s = lag_share * task.lag_s

    def passed(self, point: Point, now_s: float) -> bool:
        if not self._window.take(point):
            return False
        return least_squares(self._window.points).at(now_s + self._ahead_s) >= self._limit
