"""Common practice: a limit on the reading, on several readings, on their mean or median.

`margin` moves the limit to before the target (negative: beyond it), in parts of N.
"""

from tests.trials.falling.methods.intake import Point, Streaming, Window
from tests.trials.falling.trial import Task


class InARow(Streaming):
    """So many readings on end beyond the target; 1: the first reading beyond."""

    def __init__(self, task: Task, *, readings: int, margin: float = 0.0, smooth: int = 1) -> None:
        super().__init__(task, smooth)
        self._needed, self._limit = readings, 1.0 - margin
        self._beyond = 0

    def passed(self, point: Point, now_s: float) -> bool:
        self._beyond = self._beyond + 1 if point.gone >= self._limit else 0
        return self._beyond >= self._needed


class ShortMean(Streaming):
    """Mean over a short window."""

    def __init__(
        self, task: Task, *, seconds: float, fewest: int, margin: float = 0.0, smooth: int = 1
    ) -> None:
        super().__init__(task, smooth)
        self._window, self._limit = Window(seconds, fewest), 1.0 - margin

    def passed(self, point: Point, now_s: float) -> bool:
        enough, points = self._window.take(point), self._window.points
        return enough and sum(p.gone for p in points) >= self._limit * len(points)
