"""What is computed from several values is as sure as they are: the law of propagation of uncertainty."""

import math
from collections.abc import Iterable
from typing import NamedTuple


class Part(NamedTuple):
    """One input's share in a result.

    sensitivity  how far the result moves for a unit of the input: its partial derivative
    """

    sensitivity: float
    standard_uncertainty: float
    degrees_of_freedom: float


def combined(parts: Iterable[Part]) -> tuple[float, float]:
    """Standard uncertainty and effective degrees of freedom of a result whose inputs are not correlated.

    JCGM 100:2008, 5.1.2 (equation 10), and G.4.1 (Welch-Satterthwaite, equation G.2b). Degrees are infinite
    for a result of which nothing is uncertain.
    """
    shares = [(abs(p.sensitivity * p.standard_uncertainty), p.degrees_of_freedom) for p in parts]
    total = math.hypot(*(share for share, _ in shares))
    if total == 0.0:
        return 0.0, math.inf
    # Shares of the total first: the fourth power of a small uncertainty would be no float.
    weight = math.fsum((share / total) ** 4 / degrees for share, degrees in shares)
    return total, 1.0 / weight if weight else math.inf


def of_bounds(half_width: float) -> float:
    """Standard uncertainty of what surely lies within bounds and anywhere there: rectangular, a / sqrt(3)
    (JCGM 100:2008, 4.3.7). Its degrees of freedom are infinite (G.4.3, the bounds taken as known)."""
    return half_width / math.sqrt(3.0)
