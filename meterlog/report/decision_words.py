"""Decision rules in words, each with the risk that it carries.

The bounds of the risks are those of ILAC-G8:09/2019 (guard band of one expanded uncertainty: below 2.5 %,
none: up to 50 %), for one limit and a normal distribution.
"""

from meterlog.accuracy.decision import DecisionRule, normal_quantile, probability_outside
from meterlog.procedure import SettledValue

_UNROUNDED = (
    "Values are compared unrounded; one that lies on the line between two answers gets the better one."
)
_SIMPLE = (
    "Simple acceptance (ILAC-G8:09/2019, 4.2.1): the value alone decides. The window is not narrowed by "
    "the uncertainty, so the risk of a wrong verdict grows to 50 % for a value on a limit."
)
_GUARD_BAND = (
    "Guard band of one expanded uncertainty U (ILAC-G8:09/2019, 4.2.2): pass for a value that lies inside"
    " the window by at least its U, fail for any other. The risk that what passed is outside is below 2.5"
    " %; what failed may well be inside."
)
_STATED_RISK = (
    "Guard band for a stated risk (JCGM 106:2012): pass for a value that lies inside the window by at "
    "least {z:.2f} times its standard uncertainty, fail for any other. The risk that what passed is "
    "outside is at most {risk:g} %, that of a value as near to its limit as may pass; what failed may "
    "well be inside."
)
_FOUR_ANSWERS = (
    "Four answers with a guard band of one expanded uncertainty U (ILAC-G8:09/2019, 4.2.3): pass, inside "
    "the window by at least U, with a risk below 2.5 % that it is outside; conditional pass, inside by "
    "less than U, with a risk of up to 50 %; conditional fail, outside by no more than U, with a risk of "
    "up to 50 % that it is inside; fail, outside by more than U, with a risk below 2.5 %. The worst "
    "answer is that of the unit."
)
LEAST_RISK = 0.001
"""Less is not worth ink."""


def rule_text(rule: DecisionRule) -> str:
    return f"{_rule(rule)} {_UNROUNDED}"


def _rule(rule: DecisionRule) -> str:
    if rule.false_accept is not None:
        z = normal_quantile(1.0 - rule.false_accept)
        return _STATED_RISK.format(z=z, risk=100.0 * rule.false_accept)
    if rule.in_words:
        return _FOUR_ANSWERS
    return _GUARD_BAND if rule.guard_per_expanded else _SIMPLE


def risk_text(value: SettledValue) -> str:
    """The probability that the true value is outside, "" where it is next to none or next to sure."""
    probability = probability_outside(value.value, value.low, value.high, value.standard_uncertainty)
    if not LEAST_RISK <= probability <= 1.0 - LEAST_RISK:
        return ""
    return f"{100.0 * probability:.1f} % outside"
