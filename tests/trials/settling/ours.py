"""The product's own detector as a method under trial."""

from meterlog.detect import Motion, Reason, Settled
from tests.trials.settling.trial import Claim, Task
from tests.trials.shown import Shown

SETTLED = Motion.SETTLED  # looked up once, so that the detector's time is taken and not the trial's


class Ours:
    """`meterlog.detect.Settled`, told what the step and the meter's profile tell it; the period is learnt."""

    def __init__(self, task: Task) -> None:
        self.reason: Reason | None = None
        tolerance = task.tolerance
        self._detector = Settled(
            lambda _: tolerance, task.dwell_s, horizon_s=task.horizon_s, lag_s=task.lag_s
        )

    def update(self, shown: Shown) -> Claim | None:
        said = self._detector.update(
            shown.time_s,
            shown.value,
            shown.state,
            resolution=shown.resolution,
            range_max=shown.range_max,
        )
        self.reason = said.reason
        if said.motion is not SETTLED or said.value is None:
            return None
        return Claim(said.value, said.standard_uncertainty)
