"""Confidence interval of a proportion."""

import math
from collections.abc import Callable


def clopper_pearson(hits: int, of: int, confidence: float = 0.95) -> tuple[float, float]:
    """Exact two-sided interval of a binomial proportion (Clopper and Pearson, Biometrika 26, 404, 1934).

    0 to 1 where nothing was tried. Found by bisection on the binomial tail.
    """
    if of == 0:
        return 0.0, 1.0
    each = (1.0 - confidence) / 2.0
    low = 0.0 if hits == 0 else _where(lambda p: 1.0 - _at_most(hits - 1, of, p) >= each)
    high = 1.0 if hits == of else _where(lambda p: _at_most(hits, of, p) <= each)
    return low, high


def _where(reached: Callable[[float], bool]) -> float:
    """The proportion from which on it is reached."""
    low, high = 0.0, 1.0
    for _ in range(60):
        middle = (low + high) / 2.0
        low, high = (low, middle) if reached(middle) else (middle, high)
    return high


def _at_most(hits: int, of: int, p: float) -> float:
    """Probability of at most so many hits; summed from the largest term down, as far as they matter."""
    if p in (0.0, 1.0):
        return 1.0 if p == 0.0 else 0.0
    if hits > p * of:
        return 1.0 - _at_most(of - hits - 1, of, 1.0 - p)
    term = math.exp(_log_choose(of, hits) + hits * math.log(p) + (of - hits) * math.log1p(-p))
    total, k = 0.0, hits
    while k >= 0 and term > 1e-17 * total:
        total += term
        term *= k / (of - k + 1) * (1.0 - p) / p
        k -= 1
    return total


def _log_choose(of: int, hits: int) -> float:
    return math.lgamma(of + 1) - math.lgamma(hits + 1) - math.lgamma(of - hits + 1)
