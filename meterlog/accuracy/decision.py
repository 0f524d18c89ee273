"""Decision rules: from a value, its uncertainty and a window to a verdict.

A rule sets a guard band inside each limit (ILAC-G8:09/2019, 4.2; `meterlog.accuracy.guard_band`): what
measures inside by as much passes. Simple acceptance has none, and then the risk of a false verdict is up to
50 % at the limit. The report states the rule and its risk.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from meterlog.accuracy.guard_band import NONE, GuardBand, TimesU


class Verdict(StrEnum):
    PASS = "pass"
    CONDITIONAL_PASS = "conditional pass"
    CONDITIONAL_FAIL = "conditional fail"
    FAIL = "fail"
    NOT_JUDGED = "not judged"

    @property
    def is_failure(self) -> bool:
        """Beyond the limit, whether by less than the uncertainty or not."""
        return self in (Verdict.FAIL, Verdict.CONDITIONAL_FAIL)


# A value computed to lie on the limit may miss it by a rounding of the last bits of a double.
_ROUNDING = 1e-12


def decide(value: float, low: float | None, high: float | None, guard: float = 0.0) -> Verdict:
    """Whether a value lies within the limits, each moved inwards by `guard` (outwards if negative).

    A missing limit does not limit, two missing limits judge nothing. A value on a limit is inside.
    """
    if low is None and high is None:
        return Verdict.NOT_JUDGED
    slack = _ROUNDING * max(abs(value), abs(low or 0.0), abs(high or 0.0))
    too_low = low is not None and value < low + guard - slack
    too_high = high is not None and value > high - guard + slack
    return Verdict.FAIL if too_low or too_high else Verdict.PASS


class Acceptance(NamedTuple):
    """The limits within which a value passes; None does not limit."""

    low: float | None
    high: float | None

    @property
    def empty(self) -> bool:
        """The guard band is wider than half the window: no value can pass."""
        return self.low is not None and self.high is not None and self.low > self.high


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """How a result is judged.

    band      the guard band inside each limit
    in_words  four answers: within a guard band, on either side of its limit, they are conditional
    """

    band: GuardBand = NONE
    in_words: bool = False

    @property
    def by_uncertainty(self) -> bool:
        """Whether it asks how sure a value is; else the limits alone decide."""
        return self.band != NONE

    def guard_band(
        self,
        low: float | None,
        high: float | None,
        standard_uncertainty: float,
        expanded_uncertainty: float,
    ) -> float:
        """Its width. Limits and uncertainties in one unit."""
        half_window = None if low is None or high is None else (high - low) / 2.0
        return self.band.width(half_window, standard_uncertainty, expanded_uncertainty)

    def acceptance(
        self,
        low: float | None,
        high: float | None,
        standard_uncertainty: float,
        expanded_uncertainty: float,
    ) -> Acceptance:
        """The limits, each moved inwards by the guard band."""
        guard = self.guard_band(low, high, standard_uncertainty, expanded_uncertainty)
        return Acceptance(None if low is None else low + guard, None if high is None else high - guard)

    def accepted_part(self, test_uncertainty_ratio: float) -> float:
        """Of half the window, 0.0 where nothing is left; above 1 where the guard band lies outside."""
        expanded = 1.0 / test_uncertainty_ratio
        return max(0.0, 1.0 - self.guard_band(-1.0, 1.0, expanded / 2.0, expanded))

    def decide(
        self,
        value: float,
        low: float | None,
        high: float | None,
        standard_uncertainty: float,
        expanded_uncertainty: float,
    ) -> Verdict:
        """Limits, value and uncertainties in one unit."""
        guard = self.guard_band(low, high, standard_uncertainty, expanded_uncertainty)
        safely = decide(value, low, high, guard)
        if not self.in_words or safely is not Verdict.FAIL:
            return safely
        if decide(value, low, high) is Verdict.PASS:
            return Verdict.CONDITIONAL_PASS
        return Verdict.CONDITIONAL_FAIL if decide(value, low, high, -guard) is Verdict.PASS else Verdict.FAIL


SIMPLE = DecisionRule()
GUARD_BAND = DecisionRule(TimesU(1.0))
FOUR_ANSWERS = DecisionRule(TimesU(1.0), in_words=True)


def probability_outside(
    value: float, low: float | None, high: float | None, standard_uncertainty: float
) -> float:
    """That the true value lies beyond a limit, for a normal distribution about the measured one
    (JCGM 106:2012, 7.2). An uncertainty of 0 gives 0 or 1."""
    below = 0.0 if low is None else _beyond(low - value, standard_uncertainty)
    above = 0.0 if high is None else _beyond(value - high, standard_uncertainty)
    return below + above


def _beyond(distance: float, standard_uncertainty: float) -> float:
    """Probability that a normal error is larger than -distance."""
    if standard_uncertainty == 0.0:
        return 1.0 if distance > 0.0 else 0.0
    return 0.5 * math.erfc(-distance / standard_uncertainty / math.sqrt(2.0))


# From the worst to the best; what was not judged says nothing.
_ORDER = (Verdict.FAIL, Verdict.CONDITIONAL_FAIL, Verdict.CONDITIONAL_PASS, Verdict.PASS)


def worst(verdicts: list[Verdict]) -> Verdict:
    """The worst that occurs; NOT_JUDGED if none was judged."""
    return next((verdict for verdict in _ORDER if verdict in verdicts), Verdict.NOT_JUDGED)
