"""Grubbs' test: whether one value of a batch lies too far from the others to belong to them."""

import math
from collections.abc import Sequence
from typing import NamedTuple

LEAST = 3
"""Values that Grubbs' test can say something about."""

STRAGGLER, OUTLIER = 0.05, 0.01
"""Levels of significance, two-sided: beyond the first a straggler, beyond the second an outlier
(ISO 5725-2:1994, 7.3.2)."""


class Grubbs(NamedTuple):
    """The value furthest from the mean: its place, and how many standard deviations it lies away."""

    place: int
    statistic: float


def grubbs(values: Sequence[float]) -> Grubbs | None:
    """G = |x - mean| / s of the furthest value, s with n - 1. None below three values, or if all equal."""
    n = len(values)
    if n < LEAST:
        return None
    mean = math.fsum(values) / n
    spread = math.sqrt(math.fsum((value - mean) ** 2 for value in values) / (n - 1))
    if spread == 0.0:
        return None
    place = max(range(n), key=lambda index: abs(values[index] - mean))
    return Grubbs(place, abs(values[place] - mean) / spread)


def critical(n: int, significance: float, *, two_sided: bool = True) -> float:
    """What G exceeds by chance with this probability, for n normal values (Grubbs 1969; NIST/SEMATECH
    e-Handbook 1.3.5.17.1): (n - 1) / sqrt(n) * sqrt(t^2 / (n - 2 + t^2)). ValueError below three values.
    """
    from scipy.special import stdtrit  # noqa: PLC0415 - slow to load, and seldom needed

    if n < LEAST:
        raise ValueError(f"Grubbs' test needs {LEAST} values, not {n}")
    tail = significance / (2 * n if two_sided else n)
    t = float(stdtrit(n - 2, 1.0 - tail))
    return (n - 1) / math.sqrt(n) * math.sqrt(t * t / (n - 2 + t * t))


def word(found: Grubbs | None, n: int) -> str:
    """ "outlier", "straggler" or "" for the furthest of n values."""
    if found is None:
        return ""
    if found.statistic > critical(n, OUTLIER):
        return "outlier"
    return "straggler" if found.statistic > critical(n, STRAGGLER) else ""
