"""Guard bands: how far inside each limit a value must lie to pass.

The published ones are multiples of the expanded uncertainty U (ILAC-G8:09/2019), the quantile of a stated
risk (JCGM 106:2012), or hang on the test uncertainty ratio, half the window over U (k = 2).
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Protocol


class GuardBand(Protocol):
    def width(self, half_window: float | None, standard: float, expanded: float) -> float:
        """In the unit of these: half the way from limit to limit, None where there is one limit only;
        standard and expanded uncertainty. A negative one lies outside the limits."""


@dataclass(frozen=True, slots=True)
class TimesU:
    """ILAC-G8:09/2019 prints 3, 1.5, 1, 0.83 (after ISO 14253-1:2017), 0 and -1. On a symmetric window 1 U
    is also the published multiplier 1 - 1 / TUR."""

    factor: float

    def width(self, _half_window: float | None, _standard: float, expanded: float) -> float:
        return self.factor * expanded

    def __str__(self) -> str:
        return f"{self.factor:g} U"


NONE = TimesU(0.0)


@dataclass(frozen=True, slots=True)
class OfRisk:
    """probability: below 0.5, that a value as near to its limit as may pass is outside (JCGM 106:2012)."""

    probability: float

    def width(self, _half_window: float | None, standard: float, _expanded: float) -> float:
        return self.quantile * standard

    @property
    def quantile(self) -> float:
        return normal_quantile(1.0 - self.probability)

    def __str__(self) -> str:
        return f"false accept {100.0 * self.probability:g} %"


class ByRatio(StrEnum):
    """Published as the part of the window that is left over the test uncertainty ratio; never wider than it.

    Where there is one limit only there is no such ratio, and U is taken.
    """

    METHOD_6 = "method 6"
    """ANSI/NCSL Z540.3-2006: false acceptance below 2 %, whatever the units are like. None from 4.6 on."""
    RP_10 = "RP-10"
    """NCSLI RP-10: 1.25 - 1 / TUR is left. None from 4 on."""
    ROOT_SUM_SQUARE = "root-sum-square"
    """sqrt(1 - 1 / TUR^2) is left."""

    def width(self, half_window: float | None, _standard: float, expanded: float) -> float:
        if half_window is None or half_window <= 0.0 or expanded <= 0.0:
            return expanded
        return max(0.0, _WIDTHS[self](half_window, expanded))


def _method_6(half_window: float, expanded: float) -> float:
    return expanded * (1.04 - math.exp(0.38 * math.log(half_window / expanded) - 0.54))


def _rp_10(half_window: float, expanded: float) -> float:
    return expanded - 0.25 * half_window


def _root_sum_square(half_window: float, expanded: float) -> float:
    """With an uncertainty as wide as half the window nothing is left; U says so too."""
    if expanded >= half_window:
        return expanded
    return half_window - math.sqrt((half_window - expanded) * (half_window + expanded))


_WIDTHS = {
    ByRatio.METHOD_6: _method_6,
    ByRatio.RP_10: _rp_10,
    ByRatio.ROOT_SUM_SQUARE: _root_sum_square,
}


LEAST_FACTOR, MOST_FACTOR = -1.0, 3.0
"""Of U, in the table of ILAC-G8:09/2019."""


def parse_guard_band(text: str) -> GuardBand:
    """ "0.83 U", or the name of a band that hangs on the ratio. ValueError: neither, in words."""
    words = text.strip()
    if words in list(ByRatio):
        return ByRatio(words)
    number, unit = words[:-1].strip(), words[-1:]
    try:
        factor = float(number) if unit == "U" else math.nan
    except ValueError:
        factor = math.nan
    if not LEAST_FACTOR <= factor <= MOST_FACTOR:
        named = ", ".join(f'"{one}"' for one in ByRatio)
        raise ValueError(
            f"{text!r} is no guard band; write how many expanded uncertainties from -1 U to 3 U, such as"
            f' "0.83 U", or one of {named}'
        )
    return TimesU(factor)


def normal_quantile(probability: float) -> float:
    """z below which a standard normal value lies with this probability, which is above 0 and below 1."""
    from statistics import NormalDist  # noqa: PLC0415 - it takes longer to load than to use

    return NormalDist().inv_cdf(probability)
