"""What a report says of the rule that decided, and of the risk that is left.

Probabilities are those of the normal distribution (any table of it): 15.87 % beyond one standard uncertainty,
2.28 % beyond two.
"""

import pytest

from meterlog.accuracy import Verdict
from meterlog.accuracy.decision import FOUR_ANSWERS, GUARD_BAND, SIMPLE, DecisionRule
from meterlog.accuracy.guard_band import ByRatio, OfRisk, TimesU
from meterlog.accuracy.risk import worst_false_accept
from meterlog.procedure import Pass
from meterlog.report.build import build_report
from meterlog.report.decision_words import risk_text, rule_text
from meterlog.report.html import report_html
from meterlog.report.model import Report
from meterlog.report.standing import STANDING_OF, Standing
from tests.report.story import CHECK_ONLY, PROCEDURE, Story

WINDOW = (14.775, 15.225)
RULED = '[procedure]\ndecision = "four answers"'


def judged(value: float, standard: float = 0.05) -> Report:
    story = Story(CHECK_ONLY.replace("[procedure]", RULED))
    taken = story.capture(
        "rail", Pass.AS_FOUND, value, channel="rail", target=15.0, window=WINDOW, uncertainty=standard
    )
    story.end("rail", Pass.AS_FOUND, taken.verdict)
    story.close(taken.verdict)
    return build_report(story.session())


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        (SIMPLE, "Simple acceptance (ILAC-G8:09/2019, 4.2.1)"),
        (GUARD_BAND, "below 2.5 %"),
        (GUARD_BAND, "w is 1 times its expanded uncertainty U"),
        (DecisionRule(TimesU(0.83)), "ISO 14253-1:2017): pass"),
        (DecisionRule(TimesU(0.83)), "is below 5 %"),
        (DecisionRule(TimesU(1.5)), "is below 0.16 %"),
        (DecisionRule(TimesU(3.0)), "is below one in a million"),
        (DecisionRule(TimesU(0.5)), "is below 16 %"),
        (DecisionRule(TimesU(-1.0)), "The risk that what failed is inside is below 2.5 %"),
        (DecisionRule(OfRisk(0.05)), "1.64 times its standard uncertainty"),
        (DecisionRule(OfRisk(0.05)), "at most 5 %"),
        (DecisionRule(ByRatio.METHOD_6), "Z540.3-2006, method 6"),
        (DecisionRule(ByRatio.METHOD_6), "fewer than 2 % are passed though they are outside"),
        (DecisionRule(ByRatio.RP_10), "1.25 - 1 / TUR"),
        (DecisionRule(ByRatio.ROOT_SUM_SQUARE), "sqrt(1 - 1 / TUR²)"),
        (FOUR_ANSWERS, "conditional fail, outside by no more than U"),
    ],
)
def test_each_rule_says_what_it_does_and_what_it_risks(rule: DecisionRule, said: str) -> None:
    assert said in rule_text(rule)


@pytest.mark.parametrize(
    ("band", "percent"), [(ByRatio.METHOD_6, 2.0), (ByRatio.RP_10, 2.3), (ByRatio.ROOT_SUM_SQUARE, 2.1)]
)
def test_the_share_of_units_that_is_named_is_the_worst_there_is(band: ByRatio, percent: float) -> None:
    """By the formula that test_risk.py holds to published tables; 2 % is published."""
    rule = DecisionRule(band)
    ratios = [1.0 + 0.05 * step for step in range(100)]
    worst = max(100.0 * worst_false_accept(ratio, rule.accepted_part(ratio)) for ratio in ratios)
    assert percent - 0.1 < worst < percent
    assert f"fewer than {percent:g} %" in rule_text(rule)


@pytest.mark.parametrize(
    ("value", "standing"),
    [
        (15.0, Standing.PASS),
        (15.2, Standing.CONDITIONAL_PASS),
        (15.25, Standing.CONDITIONAL_FAIL),
        (15.4, Standing.FAIL),
    ],
)
def test_the_four_answers_stand_in_their_place_on_every_level(value: float, standing: Standing) -> None:
    """2.13 standard uncertainties of 50 mV make U = 0.107 V about the limit at 15.225 V."""
    report = judged(value)
    assert report.rows[0].found.standing is standing
    assert (report.as_found.standing, report.header.recorded_verdict) == (standing, standing)
    assert f"1 {standing}" in report.as_found.text
    page = report_html(report)
    assert f'standing is-{standing.replace(" ", "-")}"' in page
    assert f"</svg>{standing}</span>" in page


def test_every_verdict_has_a_standing() -> None:
    assert set(STANDING_OF) == set(Verdict)


def test_the_risk_is_that_of_the_normal_distribution() -> None:
    (row,) = judged(15.175).rows
    assert row.found.risk == "15.9 % outside"
    (row,) = judged(15.125).rows
    assert row.found.risk == "2.3 % outside"


@pytest.mark.parametrize("value", [15.0, 15.5])
def test_what_is_next_to_sure_is_not_said(value: float) -> None:
    assert judged(value).rows[0].found.risk == ""


def test_a_value_without_a_window_carries_no_risk() -> None:
    story = Story(PROCEDURE)
    assert risk_text(story.capture("noise", Pass.AS_FOUND, 0.001)) == ""


def ruled(rule: str, value: float, **more: object) -> Report:
    """As `judged`, with these lines in the head."""
    story = Story(CHECK_ONLY.replace("[procedure]", f"[procedure]\n{rule}"))
    taken = story.capture(
        "rail",
        Pass.AS_FOUND,
        value,
        channel="rail",
        target=15.0,
        window=WINDOW,
        **({"uncertainty": 0.05} | more),
    )
    story.end("rail", Pass.AS_FOUND, taken.verdict)
    story.close(taken.verdict)
    return build_report(story.session())


@pytest.mark.parametrize(
    ("rule", "uncertainty", "said"),
    [
        ("", 0.05, ""),
        ('decision = "guard band"', 0.05, "passes 14.88 to 15.12 V"),
        ('decision = "four answers"', 0.05, "passes 14.88 to 15.12 V"),
        ('decision = "guard band"\nguard_band = "-1 U"', 0.05, "passes 14.67 to 15.33 V"),
        ('decision = "guard band"\nguard_band = "0 U"', 0.05, ""),
        ('decision = "guard band"\nguard_band = "method 6"', 0.01, ""),
        ('decision = "guard band"', 0.12, "nothing passes: guard band wider than half the window"),
    ],
)
def test_what_passes_stands_with_the_verdict_where_it_is_not_the_window(
    rule: str, uncertainty: float, said: str
) -> None:
    """14.775 to 15.225 V; U = 2.13 u, so 0.107 V inside each limit. Method 6 takes nothing there."""
    report = ruled(rule, 15.0, uncertainty=uncertainty)
    assert report.rows[0].found.passes == said
    page = report_html(report)
    assert (said[:12] in page) if said else ("<small>passes" not in page)
