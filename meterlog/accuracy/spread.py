"""How the possible values of a source of uncertainty are spread, and those of a sum of such sources."""

import math
from collections.abc import Callable, Sequence
from enum import StrEnum
from typing import Any, NamedTuple


class Shape(StrEnum):
    """JCGM 100:2008, 4.3 and G.5.3; EA-4/02, 3."""

    NORMAL = "normal"
    RECTANGULAR = "rectangular"
    TRIANGULAR = "triangular"
    ARCSINE = "arcsine"


DIVISORS = {
    Shape.RECTANGULAR: math.sqrt(3.0),
    Shape.TRIANGULAR: math.sqrt(6.0),
    Shape.ARCSINE: math.sqrt(2.0),
}
"""From a half-width to a standard deviation."""


class Spread(NamedTuple):
    """One share in a sum: its shape and its standard deviation, in the unit of the sum."""

    shape: Shape
    standard: float


_NORMAL_REACH = 7.5
"""Standard deviations beyond which a normal spread has nothing that a double would show (6e-14)."""
_MOST_TERMS = 4_000


def reach_of(spreads: Sequence[Spread], probability: float) -> float:
    """Half-width that the sum of independent spreads stays within with `probability`, in standard deviations
    of the sum: the quantile of their convolution, to 1e-4. ValueError if nothing is spread.

    The sum's characteristic function is the product of theirs. It is the Fourier transform of the density,
    so on a stretch that the sum never leaves, a series in it is the distribution (JCGM 101:2008, 5.4.2
    leaves the way to it open; its example 9.2 checks it).
    """
    from scipy.optimize import brentq  # noqa: PLC0415 - slow to load

    total = math.hypot(*(one.standard for one in spreads))
    if total == 0.0:
        raise ValueError("nothing is spread, so there is nothing to stay within")
    normal = math.hypot(*(one.standard for one in spreads if one.shape is Shape.NORMAL)) / total
    bounded = [
        Spread(one.shape, DIVISORS[one.shape] * one.standard / total)
        for one in spreads
        if one.shape is not Shape.NORMAL and one.standard > 0.0
    ]
    inside, reach = _distribution(normal, bounded)
    return float(brentq(lambda t: inside(t) - probability, 0.0, reach, xtol=1e-9))


def _distribution(normal: float, bounded: Sequence[Spread]) -> tuple[Callable[[float], float], float]:
    """Probability that the sum lies within +- t, and the t that it never leaves. `bounded` by half-widths."""
    import numpy as np  # noqa: PLC0415 - slow to load

    reach = _NORMAL_REACH * normal + sum(one.standard for one in bounded)
    terms = _MOST_TERMS
    if normal > 0.0:
        terms = min(terms, math.ceil(_NORMAL_REACH * reach / (math.pi * normal)))
    steps = np.arange(1, terms + 1) * (math.pi / reach)
    series = np.exp(-0.5 * (normal * steps) ** 2) * 2.0 / (steps * reach)
    for shape, half_width in bounded:
        series *= _CHARACTERISTIC[shape](half_width * steps)
    return lambda t: t / reach + float(np.sum(series * np.sin(steps * t))), reach


def _rectangular(x: Any) -> Any:
    import numpy as np  # noqa: PLC0415 - slow to load

    return np.sinc(x / math.pi)


def _triangular(x: Any) -> Any:
    return _rectangular(x / 2.0) ** 2


def _arcsine(x: Any) -> Any:
    from scipy.special import j0  # noqa: PLC0415 - slow to load

    return j0(x)


_CHARACTERISTIC: dict[Shape, Callable[[Any], Any]] = {
    Shape.RECTANGULAR: _rectangular,
    Shape.TRIANGULAR: _triangular,
    Shape.ARCSINE: _arcsine,
}
"""Of a spread within +- 1, at many places."""
