"""Cumulative sum of deviations from the running mean, against its own extreme.

D. V. Hinkley, Biometrika 58 (1971) 509, after E. S. Page, Biometrika 41 (1954) 100.
"""

import math

from tests.trials.settling.methods.candidate import SPIKE, SPREAD, Candidate, dwell_of
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Claim, Method, Task


class PageHinkley:
    """Sums over time, so that a fast meter is no more nervous than a slow one.

    allowed     deviation from the mean that does not count, base unit
    threshold   base unit times seconds
    """

    def __init__(self, allowed: float, threshold: float) -> None:
        self._allowed, self._threshold = allowed, threshold
        self.clear()

    def clear(self) -> None:
        self._n, self._mean = 0, 0.0
        self._up = self._down = 0.0

    def step(self, x: float, interval_s: float) -> bool:
        """Whether the level has changed, up or down."""
        self._n += 1
        self._mean += (x - self._mean) / self._n
        deviation = x - self._mean
        # A sum less its own minimum is a sum kept from falling below 0.
        self._up = max(0.0, self._up + (deviation - self._allowed) * interval_s)
        self._down = max(0.0, self._down + (-deviation - self._allowed) * interval_s)
        return max(self._up, self._down) > self._threshold


class PageHinkleyTest:
    """Steady when nothing has changed for `quiet_s`, and the spread of the last dwell is small."""

    def __init__(self, test: PageHinkley, recent: Recent, quiet_s: float, spread: float) -> None:
        self._test, self._recent, self._quiet_s, self._spread = test, recent, quiet_s, spread
        self.restart()

    def restart(self) -> None:
        self._test.clear()
        self._recent.clear()
        self._since_s = self._last_s = math.inf

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        interval_s = max(0.0, time_s - self._last_s)
        if self._test.step(value, interval_s):
            self.restart()
            self._test.step(value, 0.0)
        self._last_s, self._since_s = time_s, min(self._since_s, time_s)
        self._recent.add(time_s, value)
        quiet = time_s - self._since_s >= self._quiet_s
        claimed = quiet and self._recent.n > 2 and self._recent.spread <= self._spread
        return self._recent.claim(count) if claimed else None


def build(
    task: Task, *, allowed: float, threshold: float, quiet: float, window: float, spread: float, spike: float
) -> Method:
    dwell_s, tolerance = dwell_of(task), task.tolerance
    test = PageHinkley(allowed * tolerance, threshold * tolerance * dwell_s)
    judge = PageHinkleyTest(test, Recent(window * dwell_s), quiet * dwell_s, spread * tolerance)
    return Streaming(task, judge, spike=spike)


PAGE_HINKLEY = Candidate(
    name="Page-Hinkley",
    source="D. V. Hinkley, Biometrika 58 (1971)",
    settings={
        "allowed": (0.4, 0.25, 0.15, 0.1, 0.05, 0.02, 0.0),
        "threshold": (1.0, 0.5, 0.3, 0.2, 0.1, 0.05, 0.03, 0.015),
        "quiet": (1.0, 1.25, 1.5, 2.0, 3.0),
        "window": (0.5, 1.0, 2.0, 4.0),
        "spread": SPREAD,
        "spike": SPIKE,
    },
    build=build,
)
