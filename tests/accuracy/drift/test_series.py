"""Histories in a few figures, against the NIST/SEMATECH e-Handbook's case studies (tests/reference)."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy.drift import Line, Summary, fit_line, lag1, lag1_limit, runs_test, summary
from meterlog.accuracy.outliers import critical, grubbs, word
from tests.accuracy.drift.published import as_printed, column, table

JOSEPHSON = column("nist_handbook/josephson_soulen.csv", "y")
HEAT_FLOW = column("nist_handbook/heat_flow_zarr13.csv", "y")
COUNTS = table("nist_handbook/josephson_soulen.toml")["printed"]
FACTORS = table("nist_handbook/heat_flow_zarr13.toml")["printed"]


def on_index(values: list[float]) -> Line:
    return fit_line(range(1, len(values) + 1), values)


def assert_summary(ours: Summary, printed: dict[str, Any]) -> None:
    assert ours.n == printed["n"]
    assert ours.mean == as_printed(printed["mean"])
    assert ours.sd == as_printed(printed["sd"])
    assert ours.sd_of_mean == as_printed(printed["sd_of_mean"])
    assert ours.sd**2 == as_printed(printed["variance"])
    assert ours.greatest - ours.least == as_printed(printed["range"])
    assert ours.hinges == (as_printed(printed["lower_hinge"]), as_printed(printed["upper_hinge"]))
    assert ours.hinges[1] - ours.hinges[0] == as_printed(printed["iqr"])


def test_josephson_summary() -> None:
    """1.4.2.4."""
    ours = summary(JOSEPHSON)
    assert_summary(ours, COUNTS)
    assert (ours.least, ours.median, ours.greatest) == (COUNTS["min"], COUNTS["median"], COUNTS["max"])
    assert lag1(JOSEPHSON) == as_printed(COUNTS["lag1_autocorrelation"])


def test_josephson_slope() -> None:
    """1.4.2.4: a faint drift that is not chance."""
    line, printed = on_index(JOSEPHSON), COUNTS["straight_line_on_index"]
    t = line.slope / line.slope_sd
    assert line.slope == as_printed(printed["b1"])
    assert line.slope_sd == as_printed(printed["b1_sd"])
    assert t == as_printed(printed["b1_t"])
    assert line.intercept_sd == as_printed(printed["b0_sd"])
    assert line.residual_sd == as_printed(printed["residual_sd"])
    assert t * t == as_printed(printed["f_statistic"])
    assert t * t / (t * t + line.degrees_of_freedom) == as_printed(printed["r_squared"])
    assert line.slope_chance < 1e-4
    recomputed = table("nist_handbook/josephson_soulen.toml")["recomputed"]
    assert line.intercept == pytest.approx(float(recomputed["b0"]), rel=1e-12)
    assert line.slope == pytest.approx(float(recomputed["b1"]), rel=1e-9)


def test_josephson_has_no_outlier() -> None:
    """1.4.2.4: Grubbs' statistic 2.7291 for the reading 2895."""
    found, printed = grubbs(JOSEPHSON), COUNTS["grubbs"]
    assert found is not None
    assert found.statistic == as_printed(printed["g"])
    assert JOSEPHSON[found.place] == printed["suspect"]
    assert (found.statistic > critical(700, 0.05)) is printed["outlier"]
    assert word(found, 700) == ""


def test_heat_flow_summary() -> None:
    """1.4.2.8."""
    assert_summary(summary(HEAT_FLOW), FACTORS)
    assert lag1(HEAT_FLOW) == as_printed(FACTORS["lag1_autocorrelation"])
    assert lag1_limit(195) == as_printed(FACTORS["lag1_significance_limit_95"])


def test_heat_flow_has_no_drift() -> None:
    """1.4.2.8: the slope's p is 0.051, so a test at 5 % has to stay quiet, if just so."""
    line, printed = on_index(HEAT_FLOW), FACTORS["straight_line_on_index"]
    assert line.slope == as_printed(printed["b1"])
    assert line.slope_sd == as_printed(printed["b1_sd"])
    assert line.slope / line.slope_sd == as_printed(printed["b1_t"])
    assert line.slope_chance == as_printed(printed["p_value"])
    assert line.residual_sd == as_printed(printed["residual_sd"])
    assert line.slope_chance > 0.05


def test_heat_flow_has_too_few_runs() -> None:
    """1.4.2.8: z = -3.2306, so neighbours are alike."""
    assert runs_test(HEAT_FLOW) == as_printed(FACTORS["runs"]["z"])


def test_runs_by_hand() -> None:
    """n = 8, four on each side: 5 runs expected, variance 2 * 16 * 24 / (64 * 7) = 12 / 7."""
    swinging, together = [0.0, 1.0] * 4, [0.0] * 4 + [1.0] * 4
    assert runs_test(swinging) == pytest.approx((8 - 5) / (12 / 7) ** 0.5)
    assert runs_test(together) == pytest.approx((2 - 5) / (12 / 7) ** 0.5)


def test_nothing_to_say_of_equal_or_single_values() -> None:
    assert lag1([3.0] * 5) is None
    assert runs_test([3.0] * 5) is None
    with pytest.raises(ValueError, match="two values"):
        summary([1.0])


histories = st.lists(st.integers(-1000, 1000).map(float), min_size=3, max_size=40)


@given(histories, st.sampled_from([0.5, 8.0]), st.integers(-1000, 1000))
def test_unit_and_offset_do_not_matter(values: list[float], factor: float, shift: int) -> None:
    """Factors that keep the values exact, so that no value crosses the median by rounding."""
    other = [shift + factor * value for value in values]
    assert runs_test(other) == runs_test(values)
    assert lag1(other) == (None if lag1(values) is None else pytest.approx(lag1(values), abs=1e-9))
    assert summary(other).sd == pytest.approx(factor * summary(values).sd, abs=1e-9)


@given(histories)
def test_order_backwards_tells_the_same(values: list[float]) -> None:
    assert runs_test(values[::-1]) == runs_test(values)
    assert lag1(values[::-1]) == (None if lag1(values) is None else pytest.approx(lag1(values), abs=1e-9))
