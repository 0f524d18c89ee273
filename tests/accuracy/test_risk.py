"""Global risks against published tables; the sources stand in tests/reference/conformity."""

import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy.risk import global_risk, half_window_of, risk_of_ratio, worst_false_accept

FILE = Path(__file__).parents[1] / "reference" / "conformity" / "global_risk.toml"
TABLES: dict[str, Any] = tomllib.loads(FILE.read_text(encoding="utf-8"))
RP19, TUR = TABLES["rp19_table"], TABLES["tur_table"]


@pytest.mark.parametrize("place", range(len(RP19["itp"])))
def test_draft_table_of_rp_19(place: int) -> None:
    """NCSLI RP-19, draft: units four times as spread as the measurement."""
    limit = half_window_of(RP19["itp"][place])
    found = global_risk(limit, 4.0)
    accepted = RP19["itp"][place] - found.false_reject + found.false_accept
    assert 100.0 * found.false_accept == pytest.approx(RP19["false_accept_percent"][place], rel=1e-5)
    given = 100.0 * found.false_accept / accepted
    assert given == pytest.approx(RP19["false_accept_given_accepted_percent"][place], rel=1e-5)


@pytest.mark.parametrize("case", TABLES["deaver_1993"]["cases"], ids=lambda case: f"{case['l']} sd")
def test_deaver_1993(case: dict[str, float]) -> None:
    found = global_risk(case["l"], case["ratio"], case["guard"])
    assert found.false_accept == pytest.approx(case["false_accept_exact"], rel=1e-4)
    assert found.false_accept == pytest.approx(case["false_accept_printed"], rel=0.03)
    if "false_reject_exact" in case:
        assert found.false_reject == pytest.approx(case["false_reject_exact"], rel=1e-4)
        assert round(found.false_reject, 3) == case["false_reject_printed"]


@pytest.mark.parametrize("place", range(len(TUR["tur"])))
def test_over_the_test_uncertainty_ratio(place: int) -> None:
    """U = 2 u, units of which 95 % are inside; computed for the collection, to three decimals."""
    found = risk_of_ratio(TUR["tur"][place])
    assert 100.0 * found.false_accept == pytest.approx(TUR["false_accept_percent"][place], abs=5.1e-4)
    assert 100.0 * found.false_reject == pytest.approx(TUR["false_reject_percent"][place], abs=5.1e-4)


@pytest.mark.parametrize("place", range(len(TUR["tur"])))
def test_the_worst_units_there_are(place: int) -> None:
    """ANSI/NCSL Z540.3. The table was made on a grid of units: a maximum between may lie 0.001 % higher."""
    found = 100.0 * worst_false_accept(TUR["tur"][place])
    assert -6e-4 < found - TUR["worst_case_false_accept_percent"][place] < 1.1e-3


def test_at_a_ratio_of_4_6_it_is_just_under_2_per_cent() -> None:
    assert 0.0195 < worst_false_accept(4.6) < 0.02


@given(st.floats(0.5, 20.0), st.floats(0.5, 0.99))
def test_a_guard_band_trades_one_risk_for_the_other(ratio: float, acceptance: float) -> None:
    limit = half_window_of(0.95)
    simple, guarded = (global_risk(limit, 2.0 * ratio / limit, part) for part in (1.0, acceptance))
    assert guarded.false_accept <= simple.false_accept + 1e-12
    assert guarded.false_reject >= simple.false_reject - 1e-12


@pytest.mark.parametrize("part", [0.0, 1.0, -0.5, 2.0])
def test_a_part_of_the_units_that_cannot_be(part: float) -> None:
    with pytest.raises(ValueError, match="between 0 and 1"):
        half_window_of(part)
