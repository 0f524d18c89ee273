"""Factors of control charts for groups of 2 to 15 normal values: c4, d2, d3 and what follows from them."""

import math
from typing import NamedTuple

# Mean (d2) and standard deviation (d3) of the range of n normal values of standard deviation 1, by numerical
# integration, which the tests repeat. Tables as in ISO 7870-2 round them to three decimals.
_RANGE_OF = {
    2: (1.128379, 0.852502),
    3: (1.692569, 0.888368),
    4: (2.058751, 0.879808),
    5: (2.325929, 0.864082),
    6: (2.534413, 0.848040),
    7: (2.704357, 0.833205),
    8: (2.847201, 0.819831),
    9: (2.970026, 0.807834),
    10: (3.077505, 0.797051),
    11: (3.172873, 0.787315),
    12: (3.258455, 0.778478),
    13: (3.335980, 0.770416),
    14: (3.406763, 0.763023),
    15: (3.471827, 0.756211),
}


class Factors(NamedTuple):
    """For groups of n values; limits lie three standard deviations out.

    c4, d2   mean standard deviation and mean range of a group, per standard deviation of a value
    d3       standard deviation of that range
    """

    n: int
    c4: float
    d2: float
    d3: float

    @property
    def a2(self) -> float:
        """Half-width of the limits of means, per mean range."""
        return 3.0 / (self.d2 * math.sqrt(self.n))

    @property
    def a3(self) -> float:
        """Half-width of the limits of means, per mean standard deviation."""
        return 3.0 / (self.c4 * math.sqrt(self.n))

    @property
    def b3_b4(self) -> tuple[float, float]:
        """Limits of standard deviations, per mean standard deviation."""
        return _about_one(3.0 * math.sqrt(1.0 - self.c4**2) / self.c4)

    @property
    def d3_d4(self) -> tuple[float, float]:
        """Limits of ranges, per mean range: the factors called D3 and D4."""
        return _about_one(3.0 * self.d3 / self.d2)


def factors(n: int) -> Factors:
    """For groups of `n` values, 2 to 15; ValueError beyond. c4 in closed form:
    sqrt(2 / (n - 1)) gamma(n / 2) / gamma((n - 1) / 2)."""
    if n not in _RANGE_OF:
        raise ValueError(f"no factors for groups of {n}: 2 to 15")
    c4 = math.sqrt(2.0 / (n - 1)) * math.gamma(n / 2) / math.gamma((n - 1) / 2)
    return Factors(n, c4, *_RANGE_OF[n])


def _about_one(half_width: float) -> tuple[float, float]:
    return max(0.0, 1.0 - half_width), 1.0 + half_width
