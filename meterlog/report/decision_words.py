"""Decision rules in words, each with its source and the risk that it carries.

Bounds for multiples of U are those that ILAC-G8:09/2019 prints, for one limit and a normal distribution; of
other multiples they are computed so. Where a published guard band hangs on the test uncertainty ratio, the
risk is that of all units: the largest probability that one is passed though it is outside, over all ratios
from 1 on and whatever part of the units is inside (computed, `meterlog.accuracy.risk`).
"""

import math

from meterlog.accuracy import Verdict
from meterlog.accuracy.decision import Acceptance, DecisionRule, probability_outside
from meterlog.accuracy.guard_band import ByRatio, GuardBand, OfRisk, TimesU
from meterlog.procedure import SettledValue
from meterlog.quantity import Scale, show_number
from meterlog.report.shown import scale_for

_UNROUNDED = (
    "Values are compared unrounded; one that lies on the line between two answers gets the better one."
)
_SIMPLE = (
    "Simple acceptance (ILAC-G8:09/2019, 4.2.1): the value alone decides. The window is not narrowed by "
    "the uncertainty, so the risk of a wrong verdict grows to 50 % for a value on a limit."
)
_GUARD_BAND = (
    "{band}: pass for a value that lies inside the window by at least w, fail for any other; w is {width}. "
    "{risk}; what failed may well be inside. A guard band of more than half the window leaves nothing to "
    "accept."
)
_UNCRITICAL = (
    "Uncritical acceptance, guard band of {width} outside each limit (ILAC-G8:09/2019): fail for a value "
    "that lies outside the window by more than that, pass for any other. The risk that what failed is inside "
    "is below {bound}; what passed may well be outside."
)
_FOUR_ANSWERS = (
    "Four answers with a guard band of one expanded uncertainty U (ILAC-G8:09/2019, 4.2.3): pass, inside "
    "the window by at least U, with a risk below 2.5 % that it is outside; conditional pass, inside by "
    "less than U, with a risk of up to 50 %; conditional fail, outside by no more than U, with a risk of "
    "up to 50 % that it is inside; fail, outside by more than U, with a risk below 2.5 %. The worst "
    "answer is that of the unit."
)
_ILAC = "ILAC-G8:09/2019, 4.2.2"
_PRINTED = {
    3.0: (f"{_ILAC}, six sigma", "one in a million"),
    1.5: (f"{_ILAC}, three sigma", "0.16 %"),
    1.0: (_ILAC, "2.5 %"),
    0.83: (f"{_ILAC}, after ISO 14253-1:2017", "5 %"),
}
"""Source and bound of the risk, by how many U."""
_AT_MOST = (
    "The risk that what passed is outside is at most {percent:g} %, that of a value as near to its limit as "
    "may pass"
)
_OF_UNITS = (
    "TUR is half the window over the expanded uncertainty U. The risk is that of all units, not of this one: "
    "whatever part of them is inside, {share} are passed though they are outside. A value as near to its "
    "limit as may pass is itself outside with a probability of up to 50 %"
)
_BY_RATIO = {
    ByRatio.METHOD_6: (
        "Managed guard band (ANSI/NCSL Z540.3-2006, method 6)",
        "U times 1.04 - exp(0.38 ln TUR - 0.54), and nothing from a TUR of 4.6 on",
        "fewer than 2 %",
    ),
    ByRatio.RP_10: (
        "Guard band of NCSLI RP-10",
        "so wide that 1.25 - 1 / TUR of half the window is left, and nothing from a TUR of 4 on",
        "fewer than 2.3 %",
    ),
    ByRatio.ROOT_SUM_SQUARE: (
        "Root-sum-square guard band (common practice)",
        "so wide that sqrt(1 - 1 / TUR²) of half the window is left",
        "fewer than 2.1 %",
    ),
}
"""Name with source, width in words, share of all units."""
NOTHING_PASSES = "nothing passes: guard band wider than half the window"
LEAST_RISK = 0.001
"""Less is not worth ink."""


def rule_text(rule: DecisionRule) -> str:
    return f"{_rule(rule)} {_UNROUNDED}"


def _rule(rule: DecisionRule) -> str:
    if rule.in_words:
        return _FOUR_ANSWERS
    if not rule.by_uncertainty:
        return _SIMPLE
    if isinstance(rule.band, TimesU) and rule.band.factor < 0.0:
        return _UNCRITICAL.format(width=str(TimesU(-rule.band.factor)), bound=_bound(rule.band.factor))
    band, width, risk = _parts(rule.band)
    return _GUARD_BAND.format(band=band, width=width, risk=risk)


def _parts(band: GuardBand) -> tuple[str, str, str]:
    """Its name with the source, its width, its risk; all in words."""
    match band:
        case TimesU(factor):
            source = _PRINTED[factor][0] if factor in _PRINTED else _ILAC
            risk = f"The risk that what passed is outside is below {_bound(factor)}"
            return f"Guard band ({source})", f"{factor:g} times its expanded uncertainty U", risk
        case OfRisk(probability):
            name, width = "Guard band for a stated risk (JCGM 106:2012)", f"{band.quantile:.2f} times its"
            return name, f"{width} standard uncertainty", _AT_MOST.format(percent=100.0 * probability)
        case ByRatio():
            name, width, share = _BY_RATIO[band]
            return name, width, _OF_UNITS.format(share=share)
    raise AssertionError(band)


def _bound(factor: float) -> str:
    """Of the risk for a value on the acceptance limit, as printed or else computed and rounded up."""
    if abs(factor) in _PRINTED:
        return _PRINTED[abs(factor)][1]
    percent = 100.0 * probability_outside(1.0 - abs(factor), None, 1.0, 0.5)
    if percent < 1e-4:
        return "one in a million"
    digit = 10.0 ** (math.floor(math.log10(percent)) - 1)
    return f"{math.ceil(percent / digit) * digit:.2g} %"


def risk_text(value: SettledValue) -> str:
    """The probability that the true value is outside, "" where it is next to none or next to sure."""
    probability = probability_outside(value.value, value.low, value.high, value.standard_uncertainty)
    if not LEAST_RISK <= probability <= 1.0 - LEAST_RISK:
        return ""
    return f"{100.0 * probability:.1f} % outside"


def acceptance_of(value: SettledValue, rule: DecisionRule) -> Acceptance | None:
    """Within which limits the rule passes it; None where these are its own, and where nobody could tell how
    sure it is."""
    if value.verdict is Verdict.NOT_JUDGED:
        return None
    found = rule.acceptance(value.low, value.high, value.standard_uncertainty, value.expanded_uncertainty)
    return None if (found.low, found.high) == (value.low, value.high) else found


def passes_text(value: SettledValue, rule: DecisionRule, scale: Scale) -> str:
    """The same in words, "" for None."""
    found = acceptance_of(value, rule)
    if found is None:
        return ""
    if found.empty:
        return NOTHING_PASSES
    scale = scale_for(value, scale)
    low, high = (_end(end, value, scale) for end in (found.low, found.high))
    unit = f"{scale.symbol}{scale.bracket}"
    ends = f"{low} to {high}" if low and high else f"from {low}" if low else f"up to {high}"
    return f"passes {ends} {unit}"


def _end(end: float | None, value: SettledValue, scale: Scale) -> str:
    """To a tenth of the uncertainty, for that is how wide the guard band is."""
    if end is None:
        return ""
    return show_number(end, scale, value.expanded_uncertainty / 10.0)
