"""Bayesian online change points: the probability of every length of the run of readings on one level.

R. P. Adams and D. J. C. MacKay, Bayesian Online Changepoint Detection, arXiv 0710.3742 (2007); normal
readings with unknown mean and variance, so that Student's distribution predicts the next one (K. P. Murphy,
Conjugate Bayesian Analysis of the Gaussian Distribution, 2007).
"""

import math
from functools import cache
from typing import NamedTuple

from tests.trials.settling.methods.candidate import PATIENCE, SPIKE, SPREAD, Candidate, dwell_of, patient
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Claim, Method, Task

LONGEST = 100
"""Readings a run learns from; beyond, it forgets the oldest at that rate."""

UNLIKELY, MOST_RUNS = 1e-4, 20
"""Runs less probable, and all but so many, are no longer followed."""

REACH = 20.0
"""Standard deviation, in tolerances, of where a new level may lie from the first reading."""


class Run(NamedTuple):
    """Readings since `start_s`: their number, the probability, the mean, the sum of squares about it / 2."""

    start_s: float
    n: int
    probability: float
    mean: float
    beta: float


@cache
def _student_factor(n: int) -> float:
    """Of Student's density with n + 2 degrees of freedom."""
    half = (n + 2) / 2.0
    return math.exp(math.lgamma(half + 0.5) - math.lgamma(half)) / math.sqrt(math.pi * (n + 2))


class RunLengths:
    """`prior` is the standard deviation expected of the readings, the unit is the tolerance.

    hazard_per_s   rate at which levels change
    """

    def __init__(self, prior: float, hazard_per_s: float) -> None:
        self._beta, self._kappa = prior * prior, (prior / REACH) ** 2
        self._hazard_per_s = hazard_per_s
        self.clear()

    def clear(self) -> None:
        self.runs: list[Run] = []
        self._origin = self._last_s = 0.0

    def step(self, time_s: float, x: float) -> None:
        """Take a reading, in tolerances."""
        if not self.runs:
            self._origin = x
        hazard = -math.expm1(-self._hazard_per_s * (time_s - self._last_s)) if self.runs else 1.0
        self._last_s = time_s
        fresh = Run(time_s, 0, 1.0, self._origin, self._beta)
        changed = self._weighed(fresh, x, hazard)
        grown = [self._weighed(run, x, 1.0 - hazard) for run in self.runs]
        self.runs = _likeliest([*grown, changed])

    def _weighed(self, run: Run, x: float, prior: float) -> Run:
        """The run with x in it, its probability times `prior` and what it gave for x."""
        start_s, n, probability, mean, beta = run
        kappa, degrees = self._kappa + n, n + 2
        surprise = x - mean
        scale2 = 2.0 * beta * (kappa + 1.0) / (degrees * kappa)
        density = (
            _student_factor(n)
            / math.sqrt(scale2)
            * (1.0 + surprise * surprise / (degrees * scale2)) ** (-0.5 * (degrees + 1))
        )
        beta += kappa * surprise * surprise / (2.0 * (kappa + 1.0))
        mean += surprise / (kappa + 1.0)
        if n >= LONGEST:
            return Run(start_s, n, probability * prior * density, mean, beta * n / (n + 1))
        return Run(start_s, n + 1, probability * prior * density, mean, beta)

    def older_than(self, time_s: float) -> float:
        """Probability that the level has not changed since."""
        return sum(run.probability for run in self.runs if run.start_s <= time_s)


def _likeliest(runs: list[Run]) -> list[Run]:
    """Those worth following, with probabilities that add up to 1."""
    total = sum(run.probability for run in runs)
    least = UNLIKELY * total
    if len(runs) > MOST_RUNS:
        least = max(least, sorted(run.probability for run in runs)[-MOST_RUNS])
    return [
        Run(start_s, n, probability / total, mean, beta)
        for start_s, n, probability, mean, beta in runs
        if probability >= least
    ]


class RunLengthTest:
    """Steady when the level has probably not changed for `quiet_s` and the likeliest run has small spread."""

    def __init__(
        self, lengths: RunLengths, tolerance: float, *, quiet_s: float, probability: float, spread: float
    ) -> None:
        self._lengths, self._tolerance = lengths, tolerance
        self._quiet_s, self._probability, self._spread = quiet_s * (1.0 - 1e-9), probability, spread
        self.restart = lengths.clear

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        lengths, tolerance = self._lengths, self._tolerance
        lengths.step(time_s, value / tolerance)
        if lengths.older_than(time_s - self._quiet_s) < self._probability:
            return None
        run = max(lengths.runs, key=lambda run: run.probability)
        variance = 2.0 * run.beta / (run.n + 2)
        if math.sqrt(variance) > self._spread:
            return None
        deviation = math.sqrt(variance / run.n) * tolerance
        return Claim(run.mean * tolerance, max(deviation, count / math.sqrt(12.0)))


@patient
def build(
    task: Task,
    *,
    prior: float,
    hazard: float,
    quiet: float,
    probability: float,
    spread: float,
    spike: float,
    batch: float,
) -> Method:
    dwell_s = dwell_of(task)
    judge = RunLengthTest(
        RunLengths(prior, hazard / dwell_s),
        task.tolerance,
        quiet_s=quiet * dwell_s,
        probability=probability,
        spread=spread,
    )
    return Streaming(task, judge, spike=spike, batch=batch)


RUN_LENGTH = Candidate(
    name="Bayesian online change point",
    source="R. P. Adams and D. J. C. MacKay, arXiv 0710.3742 (2007)",
    settings={
        "prior": (0.02, 0.05, 0.1, 0.2, 0.4),
        "hazard": (0.01, 0.1, 0.5, 2.0, 5.0),
        "quiet": (0.75, 1.0, 1.25, 1.5, 2.0, 3.0),
        "probability": (0.5, 0.8, 0.95, 0.99, 0.999),
        "spread": SPREAD,
        "spike": SPIKE,
        "batch": (0.06, 0.12, 0.2, 0.3),
        "patience": PATIENCE,
    },
    build=build,
    good=(
        (0.2, 0.1, 3.0, 0.95, 0.3, 2.0, 0.06, 0.0),
        (0.1, 0.1, 3.0, 0.8, 0.25, 2.0, 0.06, 0.0),
        (0.1, 0.5, 1.5, 0.8, 0.3, 2.0, 0.12, 0.2),
        (0.1, 0.5, 1.25, 0.95, 0.3, 2.0, 0.12, 0.3),
        (0.1, 0.5, 1.25, 0.8, 0.3, 2.0, 0.06, 0.3),
    ),
)
