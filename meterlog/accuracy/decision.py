"""Decision rules: from a value, its uncertainty and a window to a verdict.

Simple acceptance (ILAC-G8:09/2019 4.2.1): the value itself decides, a value on the limit is inside;
the risk of a false verdict is up to 50 % at the limit. The report states the rule.
"""

from enum import StrEnum


class Verdict(StrEnum):
    PASS = "pass"
    FAIL = "fail"
    NOT_JUDGED = "not judged"


# A value computed to lie on the limit may miss it by a rounding of the last bits of a double.
_ROUNDING = 1e-12


def decide(value: float, low: float | None, high: float | None) -> Verdict:
    """Verdict of simple acceptance; a missing limit does not limit, two missing limits judge nothing."""
    if low is None and high is None:
        return Verdict.NOT_JUDGED
    slack = _ROUNDING * max(abs(value), abs(low or 0.0), abs(high or 0.0))
    too_low = low is not None and value < low - slack
    too_high = high is not None and value > high + slack
    return Verdict.FAIL if too_low or too_high else Verdict.PASS


def worst(verdicts: list[Verdict]) -> Verdict:
    """FAIL if any failed, PASS if any passed, else NOT_JUDGED."""
    for verdict in (Verdict.FAIL, Verdict.PASS):
        if verdict in verdicts:
            return verdict
    return Verdict.NOT_JUDGED
