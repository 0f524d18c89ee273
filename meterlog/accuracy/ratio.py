"""The interval of a ratio of two uncertain values."""

import math
from typing import NamedTuple


class Ends(NamedTuple):
    """Factors on the ratio, from 0 to 1 and from 1 on; infinite where the divisor may be nothing."""

    lower: float
    upper: float


def ends_of_ratio(of: float, over: float, both: float) -> Ends:
    """Fieller's interval (Suppl. J. R. Stat. Soc. 7 (1940) 1): all ratios r for which `of` and r times `over`
    agree within their expanded uncertainty.

    of, over  relative expanded uncertainties of dividend and divisor
    both      that of the ratio by its slopes, from which follows what the two have in common

    A value divided by one that is not sure reaches further up than down, which no slope shows.
    """
    common = (of**2 + over**2 - both**2) / 2.0
    inside = (1.0 - common) ** 2 - (1.0 - of**2) * (1.0 - over**2)
    if of >= 1.0 and over >= 1.0:
        return Ends(0.0, math.inf)
    middle = 1.0 - common + math.sqrt(max(0.0, inside))
    return Ends(
        lower=max(0.0, (1.0 - of**2) / middle),
        upper=middle / (1.0 - over**2) if over < 1.0 else math.inf,
    )
