"""Cumulative sum of deviations from the running mean, against its own extreme.

D. V. Hinkley, Biometrika 58 (1971) 509, after E. S. Page, Biometrika 41 (1954) 100.
"""

from tests.trials.settling.methods.candidate import (
    BATCH,
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


class Excess:
    """A sum kept from falling below 0: a cumulative sum less its own minimum."""

    __slots__ = ("run", "sum")

    def __init__(self) -> None:
        self.clear()

    def clear(self) -> None:
        self.sum, self.run = 0.0, 0

    def add(self, x: float) -> None:
        """`run` counts the readings since the sum was last 0."""
        self.sum = max(0.0, self.sum + x)
        self.run = self.run + 1 if self.sum > 0.0 else 0


class PageHinkley:
    """Sums over time, so that a fast meter is no more nervous than a slow one.

    allowed     deviation from the mean that does not count, base unit
    threshold   base unit times seconds
    """

    def __init__(self, allowed: float, threshold: float) -> None:
        self._allowed, self._threshold = allowed, threshold
        self.up, self.down = Excess(), Excess()
        self.clear()

    def clear(self) -> None:
        self._n, self._mean = 0, 0.0
        self.up.clear()
        self.down.clear()

    def step(self, x: float, interval_s: float, variance: float) -> int:
        self._n += 1
        self._mean += (x - self._mean) / self._n
        deviation = x - self._mean
        self.up.add((deviation - self._allowed) * interval_s)
        self.down.add((-deviation - self._allowed) * interval_s)
        larger = max(self.up, self.down, key=lambda excess: excess.sum)
        return larger.run if larger.sum > self._threshold else 0


@patient
def build(
    task: Task,
    *,
    allowed: float,
    threshold: float,
    quiet: float,
    window: float,
    spread: float,
    spike: float,
    batch: float = 0.0,
) -> Method:
    dwell_s, tolerance = dwell_of(task), task.tolerance
    test = PageHinkley(allowed * tolerance, threshold * tolerance * dwell_s)
    recent = Recent(window * dwell_s)
    judge = Quiet(test, recent, Floor(task, 0.0), quiet_s=quiet * dwell_s, spread=spread * tolerance)
    return Streaming(task, judge, spike=spike, batch=batch)


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
        "batch": BATCH,
        "patience": PATIENCE,
    },
    build=build,
    good=(
        (0.02, 0.03, 1.5, 1.0, 0.2, 2.0, 0.3, 0.0),
        (0.02, 0.03, 1.5, 2.0, 0.2, 2.0, 0.3, 0.0),
        (0.02, 0.3, 1.25, 0.5, 0.45, 2.0, 0.12, 0.3),
        (0.05, 0.3, 1.25, 0.5, 0.3, 2.0, 0.12, 0.3),
        (0.02, 0.3, 1.25, 0.5, 0.3, 2.0, 0.12, 0.3),
    ),
)
