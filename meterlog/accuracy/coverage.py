"""Coverage factor for a coverage probability of 95.45 %, which k = 2 stands for where all is normal."""

import math
from collections.abc import Sequence

from meterlog.accuracy.spread import Shape, Spread, reach_of

CLAIMED = 0.9545
"""What every expanded uncertainty claims to cover (EA-4/02, 5.1)."""

_DECIMALS = 3
"""Of a factor: more than anybody prints, and few enough that it is the same on every machine."""
_EARLIER_RECTANGLE = 0.95 * math.sqrt(3.0)


def coverage_factor(degrees_of_freedom: float, probability: float = CLAIMED) -> float:
    """k where the spread is normal: Student's t (JCGM 100:2008, G.3). Fewer than one degree of freedom counts
    as one; None is not accepted."""
    return round(_students(degrees_of_freedom, probability), _DECIMALS)


def factor_of_sum(
    spreads: Sequence[Spread], degrees_of_freedom: float, probability: float = CLAIMED
) -> float:
    """k of a sum: the quantile of the convolution of its shares, widened as Student's t is wider than the
    normal with the effective degrees of freedom (G.4.1, in which known bounds have infinitely many)."""
    if all(one.shape is Shape.NORMAL for one in spreads):
        return coverage_factor(degrees_of_freedom, probability)
    widening = _students(degrees_of_freedom, probability) / _students(math.inf, probability)
    return round(widening * reach_of(spreads, probability), _DECIMALS)


def claimed_by(factor: float) -> float:
    """What a recorded coverage factor stands for. Earlier versions gave a rectangle that outweighed all else
    a k of its own, for 95 % of it."""
    return 0.95 if factor == _EARLIER_RECTANGLE else CLAIMED


def expanded_uncertainty(standard_uncertainty: float, degrees_of_freedom: float) -> tuple[float, float]:
    """(U, k): U = k * u in the unit of `standard_uncertainty`, after JCGM 100:2008 6.2.1 and G.6.4."""
    factor = coverage_factor(degrees_of_freedom)
    return factor * standard_uncertainty, factor


def _students(degrees_of_freedom: float, probability: float) -> float:
    """Two-sided quantile; degrees need not be whole."""
    from scipy.special import ndtri, stdtrit  # noqa: PLC0415 - slow to load

    upper = 0.5 + probability / 2.0
    if degrees_of_freedom == math.inf:
        return float(ndtri(upper))
    return float(stdtrit(max(1.0, degrees_of_freedom), upper))
