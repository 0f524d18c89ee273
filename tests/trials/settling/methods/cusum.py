"""Cumulative sums of standardised deviations, one upwards and one downwards.

E. S. Page, Biometrika 41 (1954) 100; started without a known level after D. M. Hawkins, The Statistician 36
(1987) 299, the noise taken from second differences.
"""

import math

from tests.trials.settling.methods.candidate import (
    BATCH,
    IGNORE,
    PATIENCE,
    SPIKE,
    SPREAD,
    Candidate,
    dwell_of,
    patient,
)
from tests.trials.settling.methods.floor import Floor
from tests.trials.settling.methods.page_hinkley import Excess
from tests.trials.settling.methods.quiet import Quiet
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Method, Task


class Cusum:
    """Tabular form; `reference` (k) and what is added have the same unit."""

    def __init__(self, reference: float) -> None:
        self._reference = reference
        self.high, self.low = Excess(), Excess()

    def clear(self) -> None:
        self.high.clear()
        self.low.clear()

    def step(self, deviation: float) -> Excess:
        """Take a deviation from the target; the larger of the two sums."""
        self.high.add(deviation - self._reference)
        self.low.add(-deviation - self._reference)
        return self.high if self.high.sum > self.low.sum else self.low


class SelfStarting:
    """The target is the mean of the readings before, the unit their standard deviation."""

    def __init__(self, cusum: Cusum, limit: float) -> None:
        self._cusum, self._limit = cusum, limit
        self.clear()

    def clear(self) -> None:
        self._cusum.clear()
        self._n, self._mean = 0, 0.0

    def step(self, x: float, interval_s: float, variance: float) -> int:
        n = self._n
        self._n += 1
        if not n:
            self._mean = x
            return 0
        deviation = (x - self._mean) * math.sqrt(n / (n + 1) / variance)
        self._mean += (x - self._mean) / self._n
        larger = self._cusum.step(deviation)
        return larger.run if larger.sum > self._limit else 0


@patient
def build(
    task: Task,
    *,
    k: float,
    h: float,
    quiet: float,
    window: float,
    spread: float,
    ignore: float,
    spike: float,
    batch: float,
) -> Method:
    dwell_s = dwell_of(task)
    judge = Quiet(
        SelfStarting(Cusum(k), h),
        Recent(window * dwell_s),
        Floor(task, ignore),
        quiet_s=quiet * dwell_s,
        spread=spread * task.tolerance,
    )
    return Streaming(task, judge, spike=spike, batch=batch)


CUSUM = Candidate(
    name="CUSUM",
    source="E. S. Page, Biometrika 41 (1954)",
    settings={
        "k": (1.0, 0.5, 0.25, 0.1, 0.05),
        "h": (8.0, 5.0, 4.0, 3.0, 2.0, 1.0),
        "quiet": (1.0, 1.25, 1.5, 2.0, 3.0),
        "window": (0.5, 1.0, 2.0, 4.0),
        "spread": SPREAD,
        "ignore": IGNORE,
        "spike": SPIKE,
        "batch": BATCH,
        "patience": PATIENCE,
    },
    build=build,
    good=(
        (0.05, 1.0, 1.0, 2.0, 0.07, 0.1, 2.0, 0.3, 0.0),
        (0.1, 1.0, 1.0, 2.0, 0.07, 0.1, 2.0, 0.3, 0.0),
        (1.0, 3.0, 1.25, 1.0, 0.2, 0.2, 2.0, 0.12, 0.3),
        (1.0, 3.0, 1.5, 1.0, 0.25, 0.2, 2.0, 0.06, 0.3),
        (1.0, 3.0, 1.25, 1.0, 0.25, 0.2, 2.0, 0.06, 0.4),
    ),
)
