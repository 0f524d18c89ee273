"""The product's own detector as a method under trial."""

from meterlog.detect import BackOff, Course
from tests.trials.falling.trial import Task
from tests.trials.shown import Shown


class Ours:
    def __init__(self, task: Task) -> None:
        self._detector = BackOff(task.peak, task.target, lag_s=task.lag_s)

    def update(self, shown: Shown) -> bool:
        fall = self._detector.update(
            shown.time_s,
            shown.value,
            shown.state,
            resolution=shown.resolution,
            range_max=shown.range_max,
        )
        return fall.course is Course.PASSED
