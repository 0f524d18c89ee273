"""Decision rules: from a value, its uncertainty and a window to a verdict.

A rule sets a guard band w inside each limit (ILAC-G8:09/2019, 4.2): what measures inside by more than w
passes. Simple acceptance has none, and then the risk of a false verdict is up to 50 % at the limit. The
report states the rule and its risk.
"""

import math
from dataclasses import dataclass
from enum import StrEnum


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


@dataclass(frozen=True, slots=True)
class DecisionRule:
    """How a result is judged.

    guard_per_expanded  guard band as a multiple of the expanded uncertainty (k = 2)
    false_accept        instead of it: the probability, below 0.5, that a value on the acceptance limit is
                        outside; the guard band is then that quantile of the normal distribution (JCGM
                        106:2012, 7.4)
    in_words            four answers: within a guard band, on either side of its limit, they are conditional
    """

    guard_per_expanded: float = 0.0
    false_accept: float | None = None
    in_words: bool = False

    def guard(self, standard_uncertainty: float, expanded_uncertainty: float) -> float:
        """Width of the guard band, in the unit of the uncertainties."""
        if self.false_accept is not None:
            return normal_quantile(1.0 - self.false_accept) * standard_uncertainty
        return self.guard_per_expanded * expanded_uncertainty

    def decide(
        self,
        value: float,
        low: float | None,
        high: float | None,
        standard_uncertainty: float,
        expanded_uncertainty: float,
    ) -> Verdict:
        """Limits, value and uncertainties in one unit."""
        guard = self.guard(standard_uncertainty, expanded_uncertainty)
        safely = decide(value, low, high, guard)
        if not self.in_words or safely is not Verdict.FAIL:
            return safely
        if decide(value, low, high) is Verdict.PASS:
            return Verdict.CONDITIONAL_PASS
        return Verdict.CONDITIONAL_FAIL if decide(value, low, high, -guard) is Verdict.PASS else Verdict.FAIL


SIMPLE = DecisionRule()
GUARD_BAND = DecisionRule(guard_per_expanded=1.0)
FOUR_ANSWERS = DecisionRule(guard_per_expanded=1.0, in_words=True)


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


def normal_quantile(probability: float) -> float:
    """z below which a standard normal value lies with this probability, which is above 0 and below 1."""
    from statistics import NormalDist  # noqa: PLC0415 - it takes longer to load than to use

    return NormalDist().inv_cdf(probability)


def managed_guard(tolerance: float, expanded_uncertainty: float) -> float:
    """Guard band that keeps the probability of false acceptance below 2 % whatever the items are like:
    ANSI/NCSL Z540.3-2006 method 6. tolerance: half the width between the limits. Never below 0.
    """
    if expanded_uncertainty <= 0.0:
        return 0.0
    ratio = tolerance / expanded_uncertainty
    multiplier = 1.04 - math.exp(0.38 * math.log(ratio) - 0.54)
    return max(0.0, multiplier) * expanded_uncertainty


# From the worst to the best; what was not judged says nothing.
_ORDER = (Verdict.FAIL, Verdict.CONDITIONAL_FAIL, Verdict.CONDITIONAL_PASS, Verdict.PASS)


def worst(verdicts: list[Verdict]) -> Verdict:
    """The worst that occurs; NOT_JUDGED if none was judged."""
    return next((verdict for verdict in _ORDER if verdict in verdicts), Verdict.NOT_JUDGED)
