"""Tests on the slope of a straight line through a moving window."""

import math
from collections.abc import Callable

from tests.trials.settling.methods.candidate import (
    BATCH,
    IGNORE,
    PATIENCE,
    READINGS,
    SPIKE,
    SPREAD,
    WINDOW,
    Candidate,
    dwell_of,
    patient,
    window_of,
)
from tests.trials.settling.methods.floor import Floor
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Claim, Method, Task

LEAST_READINGS = 4


def students_t(z: float, degrees_of_freedom: int) -> float:
    """Student's t where the normal distribution has z.

    Fisher and Cornish's expansion (Technometrics 2 (1960) 209; Abramowitz and Stegun 26.7.5) to the third
    term; 3 per cent low at two degrees of freedom and 95 per cent.
    """
    first = z**3 + z
    second = 5.0 * z**5 + 16.0 * z**3 + 3.0 * z
    third = 3.0 * z**7 + 19.0 * z**5 + 17.0 * z**3 - 15.0 * z
    n = degrees_of_freedom
    return z + first / (4.0 * n) + second / (96.0 * n**2) + third / (384.0 * n**3)


class SlopeTest:
    """Steady when the spread is small and `steady(slope, its standard error, degrees of freedom)` says so."""

    def __init__(
        self, window_s: float, spread: float, floor: Floor, steady: Callable[[float, float, int], bool]
    ) -> None:
        self._recent, self._spread, self._floor, self._steady = Recent(window_s), spread, floor, steady
        self.restart = self._recent.clear

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        recent = self._recent
        recent.add(time_s, value)
        if not recent.full or recent.n < LEAST_READINGS or recent.spread > self._spread:
            return None
        slope, variance, stt = recent.line()
        error = math.sqrt((variance + self._floor.variance(count)) / stt)
        return recent.claim(count) if self._steady(slope, error, recent.n - 2) else None


@patient
def build_significance(
    task: Task,
    *,
    window: float,
    z: float,
    spread: float,
    ignore: float,
    spike: float,
    batch: float,
    readings: float = 4.0,
) -> Method:
    def steady(slope: float, error: float, degrees: int) -> bool:
        return abs(slope) <= students_t(z, degrees) * error

    floor = Floor(task, ignore)
    judge = SlopeTest(window_of(task, window, readings), spread * task.tolerance, floor, steady)
    return Streaming(task, judge, spike=spike, batch=batch)


@patient
def build_equivalence(
    task: Task,
    *,
    window: float,
    z: float,
    ahead: float,
    share: float,
    spread: float,
    spike: float,
    batch: float,
    readings: float = 4.0,
) -> Method:
    limit = share * task.tolerance / (ahead * dwell_of(task))

    def steady(slope: float, error: float, degrees: int) -> bool:
        return abs(slope) + students_t(z, degrees) * error <= limit

    judge = SlopeTest(window_of(task, window, readings), spread * task.tolerance, Floor(task, 0.0), steady)
    return Streaming(task, judge, spike=spike, batch=batch)


SLOPE_SIGNIFICANCE = Candidate(
    name="slope t-test",
    source="common practice; t of a regression slope: R. A. Fisher, Metron 5(3) 1925",
    settings={
        "window": WINDOW,
        "z": (2.5, 2.0, 1.5, 1.0, 0.7, 0.4, 0.25),
        "spread": SPREAD,
        "ignore": IGNORE,
        "spike": SPIKE,
        "batch": BATCH,
        "readings": READINGS,
        "patience": PATIENCE,
    },
    build=build_significance,
    good=(
        (2.0, 0.4, 0.2, 0.05, 2.0, 0.12, 4.0, 0.0),
        (2.0, 1.5, 0.15, 0.02, 2.0, 0.12, 4.0, 0.0),
        (0.75, 2.0, 0.25, 0.1, 2.0, 0.12, 4.0, 0.4),
        (0.75, 2.5, 0.2, 0.1, 2.0, 0.2, 4.0, 0.3),
        (0.75, 2.0, 0.2, 0.1, 2.0, 0.12, 4.0, 0.3),
    ),
)

SLOPE_EQUIVALENCE = Candidate(
    name="slope equivalence test",
    source="D. J. Schuirmann, Journal of Pharmacokinetics and Biopharmaceutics 15 (1987)",
    settings={
        "window": WINDOW,
        "z": (0.0, 0.5, 1.0, 1.645, 2.326),
        "ahead": (0.5, 1.0, 2.0, 4.0),
        "share": (1.0, 0.7, 0.5, 0.35, 0.25, 0.15, 0.1, 0.07),
        "spread": SPREAD,
        "spike": SPIKE,
        "batch": BATCH,
        "readings": READINGS,
        "patience": PATIENCE,
    },
    build=build_equivalence,
    good=(
        (1.5, 0.0, 4.0, 0.07, 0.2, 2.0, 0.12, 6.0, 0.0),
        (2.0, 0.0, 4.0, 0.1, 0.2, 2.0, 0.12, 4.0, 0.0),
        (1.0, 0.0, 0.5, 0.25, 0.3, 2.0, 0.2, 6.0, 0.3),
        (1.0, 0.5, 0.5, 0.25, 0.3, 2.0, 0.2, 6.0, 0.3),
        (1.0, 0.5, 0.5, 0.25, 0.3, 2.0, 0.2, 8.0, 0.3),
    ),
)
