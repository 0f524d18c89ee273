"""What no method can beat, and two that nobody should use: they show that the scoring tells them apart."""

import math
import statistics
from collections.abc import Sequence
from itertools import pairwise

from tests.trials.settling.trial import Claim, Plateau, Task, Trial
from tests.trials.shown import Shown

GOOD_ENOUGH = 0.25
"""The clairvoyant averages until the standard error of the mean is this part of the tolerance."""

WILD = 6.0
"""A residual of more than so many times the usual one is a wild reading."""


class Clairvoyant:
    """Knows the noise-free response and the plateaus, and takes off what it knows of the response.

    It honours the dwell: a level must have stood that long before it may be claimed. What it does not know
    is the noise in the readings, so it averages.
    """

    def __init__(self, trial: Trial) -> None:
        self._trial = trial
        residuals = [_residual(trial, shown) for shown in trial.shown if shown.value is not None]
        usual = statistics.median(abs(x) for x in residuals) if residuals else 0.0
        self._limit = max(WILD * usual / 0.6745, 1e-9 * trial.task.tolerance)
        tame = [x for x in residuals if abs(x) <= self._limit]
        self._sigma = statistics.pstdev(tame) if tame else 0.0
        self._widened = _correlation_factor(tame)
        self._at, self._sum, self._n = 0, 0.0, 0

    def update(self, shown: Shown) -> Claim | None:
        plateaus = self._trial.plateaus
        while self._at < len(plateaus) and shown.time_s > plateaus[self._at].ends_s:
            self._at += 1
            self._sum, self._n = 0.0, 0
        if self._at == len(plateaus) or shown.time_s < plateaus[self._at].settled_s:
            return None
        return self._stands(plateaus[self._at], shown)

    def _stands(self, plateau: Plateau, shown: Shown) -> Claim | None:
        if shown.value is not None and abs(_residual(self._trial, shown)) <= self._limit:
            self._sum += _residual(self._trial, shown)
            self._n += 1
        dwelled = shown.time_s - plateau.settled_s >= self._trial.task.dwell_s
        if not dwelled or self._n == 0:
            return None
        u = self._sigma * self._widened / math.sqrt(self._n)
        if u > GOOD_ENOUGH * self._trial.task.tolerance:
            return None
        return Claim(plateau.level + self._sum / self._n, math.hypot(u, shown.resolution / math.sqrt(12.0)))


def _residual(trial: Trial, shown: Shown) -> float:
    assert shown.value is not None
    return shown.value - trial.response(shown.time_s)


def _correlation_factor(residuals: Sequence[float]) -> float:
    """What a standard error grows by when each residual remembers the one before (AR(1))."""
    square = sum(x * x for x in residuals)
    if len(residuals) < 3 or square == 0.0:
        return 1.0
    r = sum(a * b for a, b in pairwise(residuals)) / square
    r = min(max(r, 0.0), 0.98)
    return math.sqrt((1.0 + r) / (1.0 - r))


class AtOnce:
    """Claims whatever is shown."""

    def __init__(self, task: Task) -> None:
        pass

    def update(self, shown: Shown) -> Claim | None:
        return None if shown.value is None else Claim(shown.value)


class Never:
    """Makes no claim."""

    def __init__(self, task: Task) -> None:
        pass

    def update(self, shown: Shown) -> Claim | None:
        return None


class TwoAgree:
    """Claims the last reading whenever the one before lies within the tolerance of it."""

    def __init__(self, task: Task) -> None:
        self._tolerance = task.tolerance
        self._last: float | None = None

    def update(self, shown: Shown) -> Claim | None:
        last, self._last = self._last, shown.value
        if last is None or shown.value is None or abs(shown.value - last) > self._tolerance:
            return None
        return Claim(shown.value)
