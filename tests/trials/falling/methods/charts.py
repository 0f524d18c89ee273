"""Control charts, put to the way gone."""

from tests.trials.falling.methods.intake import Point, Streaming
from tests.trials.falling.trial import Task


def ewma(before: float, value: float, weight: float) -> float:
    """Exponentially weighted moving average. Roberts, Technometrics 1 (1959) 239."""
    return weight * value + (1.0 - weight) * before


def upper_cusum(before: float, value: float, target: float, slack: float) -> float:
    """Upper cumulative sum. Page, Biometrika 41 (1954) 100; tabular as in the NIST e-Handbook 6.3.2.3."""
    return max(0.0, before + value - target - slack)


class Ewma(Streaming):
    """The average begins at the peak."""

    def __init__(self, task: Task, *, weight: float, margin: float = 0.0, smooth: int = 1) -> None:
        super().__init__(task, smooth)
        self._weight, self._limit = weight, 1.0 - margin
        self._average = 0.0

    def passed(self, point: Point, now_s: float) -> bool:
        self._average = ewma(self._average, point.gone, self._weight)
        return self._average >= self._limit


class Cusum(Streaming):
    """Alarm when what goes beyond the target by more than `slack` (may be negative) sums up to `alarm`."""

    def __init__(self, task: Task, *, slack: float, alarm: float, smooth: int = 1) -> None:
        super().__init__(task, smooth)
        self._slack, self._alarm = slack, alarm
        self._sum = 0.0

    def passed(self, point: Point, now_s: float) -> bool:
        self._sum = upper_cusum(self._sum, point.gone, 1.0, self._slack)
        return self._sum > self._alarm
