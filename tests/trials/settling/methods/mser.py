"""Marginal standard error rule: drop as many of the first readings as makes the rest's mean surest.

K. P. White, Simulation 69 (1997) 323, with batches of five; half of the batches at most are dropped.
"""

import math
from collections import deque
from collections.abc import Sequence
from itertools import islice
from statistics import fmean
from typing import NamedTuple

from tests.trials.settling.methods.candidate import PATIENCE, SPIKE, SPREAD, Candidate, dwell_of, patient
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Claim, Method, Task


class Truncation(NamedTuple):
    """Batches dropped, mean of the rest, sum of squares about it over the square of their number."""

    dropped: int
    mean: float
    statistic: float


def truncation(batches: Sequence[float] | deque[float]) -> Truncation:
    """The best of all that leave half the batches or more."""
    n, last = len(batches), batches[-1]
    best = Truncation(0, last, math.inf)
    total = squares = 0.0  # of the batches from the last one back, about the last
    for kept, batch in enumerate(reversed(batches), 1):
        x = batch - last
        total += x
        squares += x * x
        if 2 * kept >= n:
            statistic = max(0.0, squares - total * total / kept) / (kept * kept)
            if statistic <= best.statistic:
                best = Truncation(n - kept, last + total / kept, statistic)
    return best


def mser5(xs: Sequence[float]) -> Truncation:
    """Of batches of five readings; what is left over at the end is not used."""
    return truncation([fmean(xs[i : i + 5]) for i in range(0, len(xs) - 4, 5)])


class MserTest:
    """Steady when what the rule leaves of a moving window spans `dwell_s` and has little spread.

    batch   readings averaged into one
    """

    def __init__(self, window_s: float, dwell_s: float, batch: int, spread: float) -> None:
        self._window_s, self._dwell_s, self._batch, self._spread = window_s, dwell_s, batch, spread
        self._times_s: deque[float] = deque()
        self._means: deque[float] = deque()
        self.restart()

    def restart(self) -> None:
        self._times_s.clear()
        self._means.clear()
        self._filling: list[float] = []
        self._claim: Claim | None = None

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        if not self._filling:
            self._started_s = time_s
        self._filling.append(value)
        if len(self._filling) >= self._batch:
            self._times_s.append(self._started_s)
            self._means.append(fmean(self._filling))
            self._filling.clear()
            self._claim = self._judged(time_s, count)
        return self._claim

    def _judged(self, now_s: float, count: float) -> Claim | None:
        times_s, means = self._times_s, self._means
        while len(times_s) > 1 and now_s - times_s[0] > self._window_s:
            times_s.popleft()
            means.popleft()
        dropped, mean, statistic = truncation(means)
        kept = len(means) - dropped
        since_s = next(islice(times_s, dropped, None))
        if kept < 2 or now_s - since_s < self._dwell_s * (1.0 - 1e-9):
            return None
        if math.sqrt(statistic * kept * kept / (kept - 1)) > self._spread:
            return None
        return Claim(mean, max(math.sqrt(statistic), count / math.sqrt(12.0)))


@patient
def build(task: Task, *, window: float, kept: float, readings: float, spread: float, spike: float) -> Method:
    dwell_s = dwell_of(task)
    judge = MserTest(
        max(window, kept + 0.25) * dwell_s, kept * dwell_s, round(readings), spread * task.tolerance
    )
    return Streaming(task, judge, spike=spike)


MSER = Candidate(
    name="MSER-5",
    source="K. P. White, Simulation 69 (1997)",
    settings={
        "window": (1.0, 1.25, 1.5, 2.0, 3.0, 4.0),
        "kept": (0.5, 0.75, 1.0, 1.25, 1.5, 2.0),
        "readings": (1.0, 2.0, 3.0, 5.0),
        "spread": SPREAD,
        "spike": SPIKE,
        "patience": PATIENCE,
    },
    build=build,
    good=(
        (2.0, 1.5, 2.0, 0.07, 2.0, 0.0),
        (2.0, 1.5, 3.0, 0.1, 2.0, 0.0),
        (1.25, 0.75, 2.0, 0.15, 2.0, 0.3),
        (2.0, 0.75, 2.0, 0.2, 2.0, 0.4),
        (2.0, 0.75, 2.0, 0.2, 2.0, 0.5),
    ),
)
