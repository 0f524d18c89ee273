"""What the methods have in common: which readings count, and the way gone in parts of N."""

from collections import deque
from statistics import median
from typing import NamedTuple

from tests.trials.falling.trial import Task
from tests.trials.shown import Shown


class Point(NamedTuple):
    """Way gone: 0 at the peak, 1 at the target."""

    time_s: float
    gone: float


class Streaming:
    """Leaves out readings without a value or not later than the last one; announces once and for all.

    `smooth` readings (odd; 1: none) go through a running median first, the usual remedy against lone wild
    readings (Tukey, Exploratory Data Analysis, 1977); it stands for the time of the middle one.
    """

    def __init__(self, task: Task, smooth: int = 1) -> None:
        self._peak, self._way = task.peak, task.target - task.peak
        self._recent: deque[Point] = deque(maxlen=smooth)
        self._smooth = smooth
        self._last_s = float("-inf")
        self._announced = False

    def update(self, shown: Shown) -> bool:
        if self._announced or shown.value is None or shown.time_s <= self._last_s:
            return self._announced
        self._last_s = shown.time_s
        self._recent.append(Point(shown.time_s, (shown.value - self._peak) / self._way))
        if len(self._recent) == self._smooth:
            self._announced = self.passed(self._middle(), shown.time_s)
        return self._announced

    def _middle(self) -> Point:
        if self._smooth == 1:
            return self._recent[0]
        return Point(self._recent[self._smooth // 2].time_s, median(p.gone for p in self._recent))

    def passed(self, point: Point, now_s: float) -> bool:
        """Whether this point, known now, decides it."""
        raise NotImplementedError


class Window:
    """The points of the last `seconds`, but never less than `fewest`."""

    def __init__(self, seconds: float, fewest: int) -> None:
        self._seconds, self._fewest = seconds, fewest
        self.points: deque[Point] = deque()

    def take(self, point: Point) -> bool:
        """True if there are enough."""
        self.points.append(point)
        while len(self.points) > self._fewest and point.time_s - self.points[0].time_s > self._seconds:
            self.points.popleft()
        return len(self.points) >= self._fewest
