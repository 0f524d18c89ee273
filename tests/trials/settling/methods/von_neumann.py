"""Mean square successive difference over the variance: independent readings give 2, a moving level less.

J. von Neumann, Annals of Mathematical Statistics 12 (1941) 367; critical values B. I. Hart, 13 (1942) 445.
"""

import csv
import math
from bisect import bisect_left
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path
from statistics import NormalDist, fmean

from tests.trials.settling.methods.candidate import (
    BATCH,
    IGNORE,
    PATIENCE,
    READINGS,
    SPIKE,
    SPREAD,
    WINDOW,
    Candidate,
    patient,
    window_of,
)
from tests.trials.settling.methods.floor import Floor
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Claim, Method, Task

TABLE = Path(__file__).parents[3] / "reference/steady_state/von_neumann_critical.csv"
COLUMNS = {0.05: "exact_5_percent", 0.01: "exact_1_percent", 0.001: "exact_0_1_percent"}
LEAST_READINGS = 4


def von_neumann_ratio(xs: Sequence[float]) -> float:
    """Sum of squared changes over sum of squares about the mean. ZeroDivisionError if all are equal."""
    mean = fmean(xs)
    return sum((b - a) ** 2 for a, b in pairwise(xs)) / sum((x - mean) ** 2 for x in xs)


def ratio_variance(n: int) -> float:
    """Variance of the ratio for n independent normal readings."""
    return 4.0 * (n - 2) / (n * n - 1)


class CriticalRatio:
    """The ratio that independent normal readings fall below with probability `level`.

    Exact at 5, 1 and 0.1 per cent for 4 to 100 readings, linear between the rows of the table; beyond,
    and for other levels, by the normal distribution, which is good in the middle and for many readings.
    """

    def __init__(self, level: float) -> None:
        self._z = NormalDist().inv_cdf(level)
        self._ns: list[int] = []
        self._values: list[float] = []
        if level in COLUMNS:
            with TABLE.open(newline="") as lines:
                rows = list(csv.DictReader(lines))
            self._ns = [int(row["n"]) for row in rows]
            self._values = [float(row[COLUMNS[level]]) for row in rows]

    def at(self, n: int) -> float:
        """For n readings, 4 at least."""
        if not self._ns or n > self._ns[-1]:
            return 2.0 + self._z * math.sqrt(ratio_variance(n))
        i = bisect_left(self._ns, n)
        if self._ns[i] == n:
            return self._values[i]
        part = (n - self._ns[i - 1]) / (self._ns[i] - self._ns[i - 1])
        return self._values[i - 1] + part * (self._values[i] - self._values[i - 1])


class VonNeumannTest:
    """Steady when the readings of a moving window are few tolerances apart and look independent."""

    def __init__(self, window_s: float, critical: CriticalRatio, spread: float, floor: Floor) -> None:
        self._recent, self._critical, self._spread, self._floor = Recent(window_s), critical, spread, floor
        self.restart = self._recent.clear

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        recent = self._recent
        recent.add(time_s, value)
        if not recent.full or recent.n < LEAST_READINGS or recent.spread > self._spread:
            return None
        floor = (recent.n - 1) * self._floor.variance(count)
        ratio = (recent.squared_changes + 2.0 * floor) / (recent.squares + floor)
        return recent.claim(count) if ratio >= self._critical.at(recent.n) else None


@patient
def build(
    task: Task,
    *,
    window: float,
    level: float,
    spread: float,
    ignore: float,
    spike: float,
    batch: float,
    readings: float = 4.0,
) -> Method:
    floor = Floor(task, ignore)
    judge = VonNeumannTest(
        window_of(task, window, readings), CriticalRatio(level), spread * task.tolerance, floor
    )
    return Streaming(task, judge, spike=spike, batch=batch)


VON_NEUMANN = Candidate(
    name="von Neumann ratio",
    source="J. von Neumann, Annals of Mathematical Statistics 12 (1941)",
    settings={
        "window": WINDOW,
        "level": (0.001, 0.01, 0.05, 0.15, 0.3, 0.5),
        "spread": SPREAD,
        "ignore": IGNORE,
        "spike": SPIKE,
        "batch": BATCH,
        "readings": READINGS,
        "patience": PATIENCE,
    },
    build=build,
    good=(
        (2.0, 0.01, 0.1, 0.05, 0.0, 0.2, 4.0, 0.0),
        (1.5, 0.01, 0.07, 0.05, 2.0, 0.2, 4.0, 0.0),
        (1.0, 0.01, 0.3, 0.1, 2.0, 0.06, 4.0, 0.4),
        (1.0, 0.05, 0.25, 0.1, 2.0, 0.12, 4.0, 0.4),
        (1.0, 0.05, 0.2, 0.05, 2.0, 0.12, 4.0, 0.3),
    ),
)
