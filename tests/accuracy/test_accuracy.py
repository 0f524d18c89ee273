"""Coverage factors against EA-4/02 Appendix E; simple acceptance against cases after ILAC-G8:09/2019."""

import csv
import math
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy import Verdict, coverage_factor, decide, expanded_uncertainty, worst

REFERENCE = Path(__file__).parents[1] / "reference"


def rows(name: str) -> list[dict[str, str]]:
    lines = (REFERENCE / name).read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


@pytest.mark.parametrize("row", rows("gum/coverage_factor_95_45.csv"), ids=lambda row: row["df_eff"])
def test_published_coverage_factors(row: dict[str, str]) -> None:
    assert round(coverage_factor(float(row["df_eff"])), 2) == float(row["k_printed"])


@pytest.mark.parametrize("row", rows("gum/t_table_g2.csv"), ids=lambda row: row["df"])
def test_factors_of_the_guides_own_table(row: dict[str, str]) -> None:
    """JCGM 100:2008, Table G.2, column 95.45 %."""
    printed = row["p95_45"]
    half_a_digit = 0.5 * 10.0 ** -len(printed.partition(".")[2])
    assert coverage_factor(float(row["df"])) == pytest.approx(float(printed), abs=half_a_digit + 1e-9)


@given(st.floats(min_value=0.01, max_value=1e9))
def test_factor_between_rows_lies_between_theirs(degrees: float) -> None:
    for row in rows("gum/coverage_factor_95_45.csv"):
        printed = float(row["k_printed"])
        if float(row["df_eff"]) >= degrees:
            assert coverage_factor(degrees) >= printed - 0.005
        else:
            assert coverage_factor(degrees) <= printed + 0.005


def test_expanded_uncertainty_is_factor_times_standard_uncertainty() -> None:
    expanded, factor = expanded_uncertainty(0.5, 4.9)
    assert (expanded, factor) == (0.5 * factor, coverage_factor(4.9))


@pytest.mark.parametrize("row", rows("conformity/decision_cases.csv"), ids=lambda row: row["case"])
def test_simple_acceptance(row: dict[str, str]) -> None:
    low, high = (float(row[key]) if row[key] else None for key in ("lower", "upper"))
    assert decide(float(row["measured"]), low, high) == row["simple"]


def test_a_limit_met_to_the_last_bit_is_met() -> None:
    assert 0.1 * 3 > 0.3, "the product misses the limit by a rounding"
    assert decide(0.1 * 3, None, 0.3) is Verdict.PASS
    assert decide(0.3 + 1e-9, None, 0.3) is Verdict.FAIL


def test_without_limits_nothing_is_judged() -> None:
    assert decide(1.0, None, None) is Verdict.NOT_JUDGED


@given(st.lists(st.sampled_from(Verdict)))
def test_worst_of_many(verdicts: list[Verdict]) -> None:
    order = [
        Verdict.NOT_JUDGED,
        Verdict.PASS,
        Verdict.CONDITIONAL_PASS,
        Verdict.CONDITIONAL_FAIL,
        Verdict.FAIL,
    ]
    assert worst(verdicts) == max(verdicts, key=order.index, default=Verdict.NOT_JUDGED)


def test_infinite_degrees_of_freedom_are_allowed() -> None:
    assert coverage_factor(math.inf) == 2.0
