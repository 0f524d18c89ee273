"""When to check again: the staircase (ILAC-G24 / OIML D 10) and NASA-HDBK-8739.19-5, Tables 7-2 to 7-7."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy.drift import Growth, Staircase, days_to_limit, days_to_uncertainty, growth
from tests.accuracy.drift.published import as_printed, table

NASA = table("drift/nasa_interval.toml")
FIT, RELIABILITY = NASA["printed"]["fit"], NASA["printed"]["reliability_target"]
START_UNCERTAINTY = float(NASA["printed"]["uncertainty_target"]["u0"])


def nasa() -> Growth:
    return growth(NASA["data"]["days"], [float(one) for one in NASA["data"]["deviation"]])


def test_fit() -> None:
    """Table 7-3 and 7-4; compared to every printed digit."""
    found = nasa()
    assert found.b1 == as_printed(FIT["b1"])
    assert found.b2 == as_printed(FIT["b2"])
    assert found.var_b1 == as_printed(FIT["var_b1"])
    assert found.var_b2 == as_printed(FIT["var_b2"])
    assert found.covariance == as_printed(FIT["cov_b1_b2"])
    assert found.s == as_printed(FIT["s_yx"])
    assert found.degrees_of_freedom == NASA["recomputed"]["df"]
    assert found.b1 == pytest.approx(float(NASA["recomputed"]["b1"]), rel=1e-8)


def test_interval_for_an_uncertainty_target() -> None:
    """From 0.28 to 0.5: 327.15 days."""
    target = NASA["printed"]["uncertainty_target"]
    found = days_to_uncertainty(nasa(), START_UNCERTAINTY, float(target["target"]))
    assert found == as_printed(target["interval_days"])


def reliability(low: float | None) -> float | None:
    start, high = float(RELIABILITY["y0"]), float(RELIABILITY["upper"])
    return days_to_limit(nasa(), start, START_UNCERTAINTY, low=low, high=high, confidence=0.90)


def test_intervals_for_a_reliability_target() -> None:
    """10.03 within 9 to 11 with 90 % confidence: 140.1 days, and 171.75 where only the upper limit counts."""
    assert reliability(low=float(RELIABILITY["lower"])) == as_printed(RELIABILITY["interval_days"])
    assert reliability(low=None) == as_printed(RELIABILITY["interval_days_one_sided_upper"])


def test_the_lower_limit_mirrors_the_upper() -> None:
    down = growth(NASA["data"]["days"], [-float(one) for one in NASA["data"]["deviation"]])
    mirrored = days_to_limit(down, -10.03, START_UNCERTAINTY, low=-11.0, high=None, confidence=0.90)
    assert mirrored == pytest.approx(reliability(low=None))


def test_already_there_and_never() -> None:
    assert days_to_uncertainty(nasa(), 0.6, 0.5) == 0.0
    assert days_to_limit(nasa(), 10.9, 0.28, low=9.0, high=11.0) == 0.0
    assert days_to_limit(nasa(), 10.0, 0.28, low=None, high=None) is None
    assert days_to_uncertainty(growth([10, 20, 30], [1.0, 2.0, 3.0]), 0.1, 0.2) is None, "no scatter"


@pytest.mark.parametrize("days", [[30.0, 60.0], [30.0, 30.0, 30.0], [0.0, 30.0, 60.0]])
def test_what_shows_no_growth(days: list[float]) -> None:
    with pytest.raises(ValueError, match="growth needs"):
        growth(days, [0.1] * len(days))


@given(st.floats(-1.0, 1.0), st.floats(-0.01, 0.01))
def test_a_curve_without_scatter_is_found_again(b1: float, b2: float) -> None:
    days = [30.0, 91.0, 182.0, 365.0]
    found = growth(days, [b1 * day + b2 * day**2 for day in days])
    assert found.b1 == pytest.approx(b1, abs=1e-9)
    assert found.b2 == pytest.approx(b2, abs=1e-11)
    assert found.s == pytest.approx(0.0, abs=1e-8)


@given(st.sampled_from([0.001, 1000.0]))
def test_the_unit_does_not_matter(factor: float) -> None:
    scaled = growth(NASA["data"]["days"], [float(one) * factor for one in NASA["data"]["deviation"]])
    assert days_to_uncertainty(scaled, 0.28 * factor, 0.5 * factor) == pytest.approx(327.15334, rel=1e-7)


@pytest.mark.parametrize(
    ("error", "days"),
    [
        (0.0, 125.0),
        (0.79, 125.0),
        (-0.80, 125.0),
        (0.81, 100.0),
        (1.0, 100.0),
        (-1.01, 50.0),
        (9.0, 50.0),
    ],
)
def test_staircase(error: float, days: float) -> None:
    """Inside 80 % of the allowed error longer, outside shorter (ILAC-G24 / OIML D 10, method 1, from memory);
    the steps are our choice."""
    assert Staircase().next_days(100.0, error, 1.0) == days


@given(st.floats(1.0, 5000.0), st.floats(-10.0, 10.0), st.floats(0.01, 5.0))
def test_staircase_keeps_its_bounds(days: float, error: float, allowed: float) -> None:
    assert 7.0 <= Staircase().next_days(days, error, allowed) <= 730.0


@given(st.floats(0.0, 10.0), st.floats(0.0, 10.0))
def test_a_larger_error_never_makes_a_longer_interval(one: float, other: float) -> None:
    small, large = sorted((one, other))
    assert Staircase().next_days(90.0, small, 1.0) >= Staircase().next_days(90.0, large, 1.0)


@pytest.mark.parametrize(
    "wrong", [{"longer": 0.9}, {"shorter": 1.0}, {"inside": 0.0}, {"inside": 1.1}, {"shortest_days": 800.0}]
)
def test_a_staircase_that_leads_nowhere(wrong: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="staircase"):
        Staircase(**wrong)


@pytest.mark.parametrize("allowed", [0.0, -1.0, math.nan])
def test_what_is_no_allowed_error(allowed: float) -> None:
    with pytest.raises(ValueError, match="allowed error"):
        Staircase().next_days(90.0, 0.0, allowed)
