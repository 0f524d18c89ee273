"""Decision rules and risks against the tables of tests/reference/conformity (sources at their heads)."""

import csv
import math
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy import Verdict
from meterlog.accuracy.decision import (
    FOUR_ANSWERS,
    GUARD_BAND,
    SIMPLE,
    DecisionRule,
    decide,
    probability_outside,
)
from meterlog.accuracy.guard_band import ByRatio, OfRisk, TimesU, normal_quantile, parse_guard_band
from meterlog.accuracy.risk import worst_false_accept

FOLDER = Path(__file__).parents[1] / "reference" / "conformity"
RULES = {
    "simple": SIMPLE,
    "guard_u": GUARD_BAND,
    "guard_0_83u": DecisionRule(TimesU(0.83)),
    "non_binary": FOUR_ANSWERS,
}


def table(name: str) -> dict[str, Any]:
    return tomllib.loads((FOLDER / name).read_text(encoding="utf-8"))


def cases() -> list[dict[str, str]]:
    lines = (FOLDER / "decision_cases.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def limits(row: dict[str, str]) -> tuple[float | None, float | None]:
    low, high = (float(row[key]) if row[key] else None for key in ("lower", "upper"))
    return low, high


@pytest.mark.parametrize("rule", RULES)
@pytest.mark.parametrize("row", cases(), ids=lambda row: row["case"])
def test_each_case_under_each_rule(row: dict[str, str], rule: str) -> None:
    expanded = float(row["expanded_uncertainty_k2"])
    found = RULES[rule].decide(float(row["measured"]), *limits(row), expanded / 2.0, expanded)
    assert found == row[rule]


@pytest.mark.parametrize("row", cases(), ids=lambda row: row["case"])
def test_the_probability_of_being_outside(row: dict[str, str]) -> None:
    standard = float(row["expanded_uncertainty_k2"]) / 2.0
    found = probability_outside(float(row["measured"]), *limits(row), standard)
    assert found == pytest.approx(float(row["probability_out_of_tolerance"]), abs=5.1e-6)


RULES_FILE = table("guard_band_rules.toml")
ILAC = RULES_FILE["ilac_g8_2019"]["rules"]
RATIOS = st.floats(0.05, 100.0)


def accepted(rule: DecisionRule, expanded: float = 0.1) -> float:
    """Where acceptance ends below one upper limit of 1."""
    high = rule.acceptance(None, 1.0, expanded / 2.0, expanded).high
    assert high is not None
    return high


@pytest.mark.parametrize("printed", ILAC, ids=lambda printed: printed["name"])
def test_published_bounds_of_the_risk(printed: dict[str, Any]) -> None:
    """ILAC-G8:09/2019: the risk on the acceptance limit of each named guard band is below the printed one."""
    rule = DecisionRule(parse_guard_band(f"{printed['w_over_u']} U"))
    outside = probability_outside(accepted(rule), None, 1.0, 0.05)
    false = outside if printed["risk"] == "false accept" else 1.0 - outside
    assert false <= printed["risk_below"]
    assert rule.by_uncertainty == (printed["w_over_u"] != 0.0)


@pytest.mark.parametrize("answer", RULES_FILE["ilac_g8_2019"]["non_binary"], ids=lambda one: one["answer"])
def test_the_four_answers_where_the_guideline_has_them(answer: dict[str, str]) -> None:
    """Limit 1, U = 0.1: a value well within each of the four printed places."""
    place = {"pass": 0.85, "conditional pass": 0.95, "conditional fail": 1.05, "fail": 1.15}
    assert FOUR_ANSWERS.decide(place[answer["answer"]], None, 1.0, 0.05, 0.1) == answer["answer"]


def test_exact_risks_on_the_acceptance_limit() -> None:
    """JCGM 106:2012, 7."""
    printed = table("single_item.toml")["one_sided_at_acceptance_limit"]
    rules = [DecisionRule(parse_guard_band(f"{w} U")) for w in printed["w_over_u_expanded"]]
    found = [probability_outside(accepted(rule), None, 1.0, 0.05) for rule in rules]
    assert found == pytest.approx(printed["risk_exact"], rel=1e-4)


def test_quantiles_of_the_guides_table() -> None:
    """JCGM 106:2012, Table 1."""
    printed = table("single_item.toml")["z_table"]
    found = [normal_quantile(p) for p in printed["p"]]
    assert found == pytest.approx(printed["z_exact"], abs=5e-8)
    assert [round(z, 2) for z in found] == printed["z_printed"]


def test_the_zener_of_the_guide() -> None:
    """JCGM 106:2012, 7.3: one upper limit, 0.92 that it conforms."""
    printed = table("single_item.toml")["zener_upper_limit"]
    outside = probability_outside(printed["y"], None, printed["upper"], printed["u"])
    assert 1.0 - outside == pytest.approx(printed["p_conform_exact"], abs=5e-8)
    assert 1.0 - outside == pytest.approx(printed["p_conform_printed"], abs=0.005)


@pytest.mark.parametrize("risk", [0.025, 0.02, 0.05, 1e-3])
def test_a_stated_risk_is_what_the_limit_has(risk: float) -> None:
    at_the_limit = accepted(DecisionRule(OfRisk(risk)))
    assert probability_outside(at_the_limit, None, 1.0, 0.05) == pytest.approx(risk, rel=1e-9)


def test_iso_14253_is_a_stated_risk_of_five_per_cent() -> None:
    """ISO 14253-1:2017 prints w = 1.65 u, that is 0.825 U; its editions of 1998 and 2013 had U."""
    assert OfRisk(0.05).width(None, 1.0, 2.0) == pytest.approx(1.65, abs=0.006)
    assert OfRisk(0.05).width(None, 1.0, 2.0) / 2.0 == pytest.approx(0.825, abs=0.003)
    assert TimesU(1.0).width(None, 1.0, 2.0) == 2.0


def test_method_6_of_z540_3() -> None:
    """ANSI/NCSL Z540.3-2006: multipliers and acceptance limits over TUR; above 4.6 it is cut at zero."""
    printed = RULES_FILE["z540_3"]
    rule = DecisionRule(parse_guard_band("method 6"))
    for ratio, multiplier, acceptance in zip(
        printed["tur"], printed["m"], printed["acceptance_over_limit"], strict=True
    ):
        band = rule.guard_band(-1.0, 1.0, 0.5 / ratio, 1.0 / ratio)
        assert band * ratio == pytest.approx(max(0.0, multiplier), abs=1e-6)
        assert rule.accepted_part(ratio) == pytest.approx(acceptance, abs=1e-6)


@pytest.mark.parametrize(
    ("name", "band"),
    [("u95_guard_band", "1 U"), ("rp_10", "RP-10"), ("root_sum_square", "root-sum-square")],
)
def test_other_published_multipliers(name: str, band: str) -> None:
    """1 - 1/TUR, 1.25 - 1/TUR, sqrt(1 - 1/TUR^2): at the printed ratio, and over others by the formula."""
    printed = RULES_FILE["other_published_multipliers"]
    rule = DecisionRule(parse_guard_band(band))
    assert rule.accepted_part(2.5) == pytest.approx(printed["at_tur_2_5"][name], abs=5.1e-7)
    for tur in (1.25, 2.0, 3.0, 3.9):
        formula = printed[name].replace("TUR", str(tur)).replace("^", "**")
        expected = eval(formula, {"sqrt": math.sqrt})  # the formula as it is printed
        assert rule.accepted_part(tur) == pytest.approx(expected, rel=1e-12)


@pytest.mark.parametrize("band", ByRatio)
@given(ratio=RATIOS)
def test_a_band_that_hangs_on_the_ratio_never_widens(band: ByRatio, ratio: float) -> None:
    assert 0.0 <= DecisionRule(band).accepted_part(ratio) <= 1.0


@pytest.mark.parametrize("ratio", [4.0, 4.6, 4.7, 10.0, 100.0])
def test_from_which_ratio_on_nothing_is_taken_away(ratio: float) -> None:
    """Method 6 from 4.6, RP-10 from 4 (where 1.25 - 1/TUR is 1)."""
    assert DecisionRule(ByRatio.RP_10).accepted_part(ratio) == 1.0
    assert (DecisionRule(ByRatio.METHOD_6).accepted_part(ratio) == 1.0) == (ratio >= 4.6)


@pytest.mark.parametrize("ratio", [*(1.0 + 0.1 * step for step in range(40)), 5.5, 7.0, 10.0, 30.0])
def test_method_6_keeps_wrong_passes_below_2_per_cent(ratio: float) -> None:
    """ANSI/NCSL Z540.3-2006, 5.3 b: not above 2 %, whatever the units are like."""
    part = DecisionRule(ByRatio.METHOD_6).accepted_part(ratio)
    assert worst_false_accept(ratio, part) < RULES_FILE["z540_3"]["pfa_max"]


@pytest.mark.parametrize("band", [*ByRatio, TimesU(1.0), TimesU(3.0), OfRisk(0.025)], ids=str)
def test_with_a_poor_meter_nothing_is_left(band: Any) -> None:
    """Four times as uncertain as half the window is wide: not even the middle passes."""
    rule = DecisionRule(band)
    assert rule.acceptance(-5.0, 5.0, 10.0, 20.0).empty
    assert rule.decide(0.0, -5.0, 5.0, 10.0, 20.0) is Verdict.FAIL
    assert rule.accepted_part(0.25) == 0.0
    assert not rule.acceptance(-5.0, 5.0, 0.1, 0.2).empty


@pytest.mark.parametrize("band", ByRatio)
def test_one_limit_has_no_ratio_and_takes_u(band: ByRatio) -> None:
    assert accepted(DecisionRule(band)) == pytest.approx(0.9)


@pytest.mark.parametrize("band", [*ByRatio, TimesU(1.0), OfRisk(0.1)], ids=str)
@pytest.mark.parametrize("limits", [(-1.0, 1.0), (0.0, 0.0), (None, 1.0)])
def test_what_is_exact_needs_no_guard_band(band: Any, limits: tuple[float | None, float]) -> None:
    assert DecisionRule(band).guard_band(*limits, 0.0, 0.0) == 0.0


@pytest.mark.parametrize("text", ["", "U", "1", "4 U", "-1.1 U", "nan U", "2 V", "method 5", "1 U U"])
def test_what_is_no_guard_band(text: str) -> None:
    with pytest.raises(ValueError, match=r'such as "0\.83 U", or one of "method 6"'):
        parse_guard_band(text)


@pytest.mark.parametrize("text", ["0.83 U", "-1 U", "1.5 U", *ByRatio])
def test_a_guard_band_reads_as_it_was_written(text: str) -> None:
    assert str(parse_guard_band(f" {text} ")) == text


VALUES = st.floats(-10.0, 10.0)


@given(VALUES, st.floats(0.0, 3.0), st.sampled_from(list(RULES.values())))
def test_a_guard_band_never_passes_what_simple_acceptance_fails(
    value: float, expanded: float, rule: DecisionRule
) -> None:
    found = rule.decide(value, -1.0, 1.0, expanded / 2.0, expanded)
    if decide(value, -1.0, 1.0) is Verdict.FAIL:
        assert found in (Verdict.FAIL, Verdict.CONDITIONAL_FAIL)


@given(VALUES, st.floats(0.0, 3.0))
def test_four_answers_agree_with_two(value: float, expanded: float) -> None:
    four = FOUR_ANSWERS.decide(value, -1.0, 1.0, expanded / 2.0, expanded)
    assert (four is Verdict.PASS) == (GUARD_BAND.decide(value, -1.0, 1.0, 0.0, expanded) is Verdict.PASS)
    simple = SIMPLE.decide(value, -1.0, 1.0, 0.0, expanded)
    assert (four in (Verdict.PASS, Verdict.CONDITIONAL_PASS)) == (simple is Verdict.PASS)


def test_nothing_to_judge_by_is_not_judged_under_any_rule() -> None:
    for rule in RULES.values():
        assert rule.decide(1.0, None, None, 0.1, 0.2) is Verdict.NOT_JUDGED
