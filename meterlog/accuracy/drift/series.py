"""A history at one point in a few figures, and whether its order means something."""

import math
from collections.abc import Sequence
from itertools import groupby, pairwise
from statistics import fmean, median, quantiles, stdev
from typing import NamedTuple


class Summary(NamedTuple):
    """All but `n` in the unit of the values; `sd` with n - 1, `hinges` the lower and the upper quartile."""

    n: int
    mean: float
    sd: float
    least: float
    median: float
    greatest: float
    hinges: tuple[float, float]

    @property
    def sd_of_mean(self) -> float:
        """Holds only if the order means nothing: see `lag1`."""
        return self.sd / math.sqrt(self.n)


def summary(values: Sequence[float]) -> Summary:
    """ValueError below two values."""
    if len(values) < 2:
        raise ValueError("a summary needs two values")
    lower, middle, upper = quantiles(values, n=4, method="inclusive")
    return Summary(
        len(values), fmean(values), stdev(values), min(values), middle, max(values), (lower, upper)
    )


def lag1(values: Sequence[float]) -> float | None:
    """How far each value is like the one before it: autocorrelation at lag 1, -1 to 1 (NIST/SEMATECH
    e-Handbook 1.3.5.12). None if all are equal."""
    mean = fmean(values)
    away = [value - mean for value in values]
    total = math.fsum(one * one for one in away)
    return math.fsum(before * after for before, after in pairwise(away)) / total if total else None


def lag1_limit(n: int) -> float:
    """What the autocorrelation of n independent values exceeds by chance once in twenty times, either way:
    1.96 / sqrt(n), for large n."""
    return 1.959963985 / math.sqrt(n)


def runs_test(values: Sequence[float]) -> float | None:
    """Standard normal z of the number of stretches at or above the median and below it (NIST/SEMATECH
    e-Handbook 1.3.5.13). Below -1.96: too few, the values hang together; above 1.96: too many, they swing.

    None if no value lies below the median. Rests on the normal approximation: ten on each side at least.
    """
    middle = median(values)
    above = [value >= middle for value in values]
    n, high = len(above), sum(above)
    if high == n:
        return None
    pairs = 2.0 * high * (n - high)
    spread = math.sqrt(pairs * (pairs - n) / (n * n * (n - 1.0)))
    return (sum(1 for _ in groupby(above)) - (pairs / n + 1.0)) / spread if spread else None
