"""Decision rules and risks against the tables of tests/reference/conformity (sources at their heads)."""

import csv
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
    managed_guard,
    normal_quantile,
    probability_outside,
)

FOLDER = Path(__file__).parents[1] / "reference" / "conformity"
RULES = {
    "simple": SIMPLE,
    "guard_u": GUARD_BAND,
    "guard_0_83u": DecisionRule(guard_per_expanded=0.83),
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


ILAC = table("guard_band_rules.toml")["ilac_g8_2019"]["rules"]


@pytest.mark.parametrize("rule", ILAC, ids=lambda rule: rule["name"])
def test_published_bounds_of_the_risk(rule: dict[str, Any]) -> None:
    """ILAC-G8:09/2019: the risk on the acceptance limit of each named guard band is below the printed one."""
    at_the_limit = 1.0 - abs(rule["w_over_u"]) * 0.1  # limit 1, U = 0.1, k = 2
    assert probability_outside(at_the_limit, None, 1.0, 0.05) <= rule["risk_below"]


def test_exact_risks_on_the_acceptance_limit() -> None:
    """JCGM 106:2012, 7."""
    printed = table("single_item.toml")["one_sided_at_acceptance_limit"]
    found = [probability_outside(1.0 - w * 0.1, None, 1.0, 0.05) for w in printed["w_over_u_expanded"]]
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
    assert round(1.0 - outside, 2) == printed["p_conform_printed"]


@pytest.mark.parametrize("risk", [0.025, 0.02, 0.05, 1e-3])
def test_a_stated_risk_is_what_the_limit_has(risk: float) -> None:
    rule = DecisionRule(false_accept=risk)
    guard = rule.guard(0.05, 0.1)
    assert probability_outside(1.0 - guard, None, 1.0, 0.05) == pytest.approx(risk, rel=1e-9)


def test_iso_14253_is_a_stated_risk_of_five_per_cent() -> None:
    """ISO 14253-1:2017 prints w = 1.65 u, that is 0.825 U."""
    assert DecisionRule(false_accept=0.05).guard(1.0, 2.0) == pytest.approx(1.65, abs=0.006)


def test_method_6_of_z540_3() -> None:
    """ANSI/NCSL Z540.3-2006: multipliers and acceptance limits over TUR; above 4.6 it is cut at zero."""
    printed = table("guard_band_rules.toml")["z540_3"]
    for ratio, multiplier, acceptance in zip(
        printed["tur"], printed["m"], printed["acceptance_over_limit"], strict=True
    ):
        guard = managed_guard(1.0, 1.0 / ratio)
        assert guard * ratio == pytest.approx(max(0.0, multiplier), abs=1e-6)
        assert 1.0 - guard == pytest.approx(acceptance, abs=1e-6)


@given(st.floats(0.01, 10.0), st.floats(1.0, 100.0))
def test_method_6_never_widens(tolerance: float, ratio: float) -> None:
    assert 0.0 <= managed_guard(tolerance, tolerance / ratio) < tolerance


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
