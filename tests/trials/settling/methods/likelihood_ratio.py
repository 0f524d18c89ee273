"""Generalised likelihood ratio of a change of the mean, somewhere in a moving window.

A. S. Willsky and H. L. Jones, IEEE Transactions on Automatic Control 21 (1976) 108; for the mean of normal
readings M. Basseville and I. V. Nikiforov, Detection of Abrupt Changes (1993), section 2.4.
"""

from collections import deque

from tests.trials.settling.methods.candidate import (
    IGNORE,
    PATIENCE,
    SPIKE,
    SPREAD,
    Candidate,
    dwell_of,
    patient,
)
from tests.trials.settling.methods.floor import Floor
from tests.trials.settling.methods.quiet import Quiet
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Method, Task

MOST = 48
"""Readings, or batches of them, in the window: the ratio is worked out at each."""


def best_split(xs: deque[float]) -> tuple[int, float]:
    """Number of the last readings that differ most from those before, and k (n-k) / n (difference)^2.

    Half of this over the variance is the logarithm of the likelihood ratio, both means unknown.
    """
    n, first = len(xs), xs[0]
    mean = sum(xs) / n - first
    best, best_k, total = 0.0, 0, 0.0
    for k, x in enumerate(xs, 1):
        total += x - first
        excess = total - k * mean
        if k < n and excess * excess * n > best * k * (n - k):
            best, best_k = excess * excess * n / (k * (n - k)), k
    return n - best_k, best


class LikelihoodRatio:
    """A change when the logarithm of the ratio exceeds `limit`."""

    def __init__(self, readings: int, limit: float) -> None:
        self._xs: deque[float] = deque(maxlen=readings)
        self._limit = limit
        self.clear = self._xs.clear

    def step(self, x: float, interval_s: float, variance: float) -> int:
        self._xs.append(x)
        latest, squares = best_split(self._xs)
        return latest if squares > 2.0 * self._limit * variance else 0


@patient
def build(
    task: Task,
    *,
    memory: float,
    h: float,
    quiet: float,
    window: float,
    spread: float,
    ignore: float,
    spike: float,
    batch: float,
) -> Method:
    dwell_s = dwell_of(task)
    readings = min(MOST, round(memory * dwell_s / max(batch * dwell_s, task.period_s)))
    judge = Quiet(
        LikelihoodRatio(max(4, readings), h),
        Recent(window * dwell_s),
        Floor(task, ignore),
        quiet_s=quiet * dwell_s,
        spread=spread * task.tolerance,
    )
    return Streaming(task, judge, spike=spike, batch=batch)


LIKELIHOOD_RATIO = Candidate(
    name="generalised likelihood ratio",
    source="A. S. Willsky and H. L. Jones, IEEE Transactions on Automatic Control 21 (1976)",
    settings={
        "memory": (1.0, 1.5, 2.0, 3.0, 5.0),
        "h": (20.0, 12.0, 8.0, 5.0, 3.0, 2.0, 1.0),
        "quiet": (1.0, 1.25, 1.5, 2.0, 3.0),
        "window": (0.5, 1.0, 2.0, 4.0),
        "spread": SPREAD,
        "ignore": IGNORE,
        "spike": SPIKE,
        "batch": (0.06, 0.12, 0.2, 0.3),
        "patience": PATIENCE,
    },
    build=build,
    good=(
        (3.0, 3.0, 1.0, 4.0, 0.15, 0.05, 2.0, 0.3, 0.0),
        (2.0, 3.0, 1.0, 4.0, 0.15, 0.02, 2.0, 0.3, 0.0),
        (1.0, 5.0, 1.0, 1.0, 0.15, 0.1, 2.0, 0.3, 0.2),
        (1.5, 8.0, 1.0, 1.0, 0.15, 0.1, 2.0, 0.3, 0.2),
        (1.5, 5.0, 1.0, 1.0, 0.15, 0.1, 2.0, 0.3, 0.2),
    ),
)
