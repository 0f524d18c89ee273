"""What the methods have in common: which readings count, and the way gone in parts of N."""

from collections import deque
from typing import NamedTuple

from tests.trials.falling.trial import Task
from tests.trials.shown import Shown


class Streaming:
    """Leaves out readings without a value or not later than the last one; announces once and for all."""

    def __init__(self, task: Task) -> None:
        self._peak, self._way = task.peak, task.target - task.peak
        self._last_s = float("-inf")
        self._announced = False

    def update(self, shown: Shown) -> bool:
        if self._announced or shown.value is None or shown.time_s <= self._last_s:
            return self._announced
        self._last_s = shown.time_s
        self._announced = self.passed(shown.time_s, (shown.value - self._peak) / self._way)
        return self._announced

    def passed(self, time_s: float, gone: float) -> bool:
        """Whether a reading with so much of the way gone (0 at the peak, 1 at the target) decides it."""
        raise NotImplementedError


class Point(NamedTuple):
    time_s: float
    gone: float


class Window:
    """The readings of the last `seconds`, but never less than `fewest`."""

    def __init__(self, seconds: float, fewest: int) -> None:
        self._seconds, self._fewest = seconds, fewest
        self.points: deque[Point] = deque()

    def take(self, time_s: float, gone: float) -> bool:
        """True if there are enough."""
        self.points.append(Point(time_s, gone))
        while len(self.points) > self._fewest and time_s - self.points[0].time_s > self._seconds:
            self.points.popleft()
        return len(self.points) >= self._fewest
