"""Straight lines against NIST StRD, JCGM 100:2008 and the NIST/SEMATECH e-Handbook (tests/reference)."""

import math
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy.drift import Line, fit_line
from tests.accuracy.drift.published import as_printed, column, table

THERMOMETER = table("gum/h3_thermometer.toml")
LINEWIDTH = table("nist_handbook/linewidth.toml")["calibration"]["printed"]


def thermometer() -> Line:
    """H.3.2: corrections against readings less 20 degrees."""
    readings = column("gum/h3_thermometer.csv", "reading_c")
    return fit_line([one - 20 for one in readings], column("gum/h3_thermometer.csv", "observed_correction_c"))


def linewidth() -> Line:
    name = "nist_handbook/linewidth_calibration.csv"
    return fit_line(column(name, "reference_um"), column(name, "measured_um"))


def test_norris() -> None:
    """NIST StRD, Norris: certified values to 12 digits; R squared and F follow from t of the slope."""
    line = fit_line(column("nist_strd/norris.csv", "x"), column("nist_strd/norris.csv", "y"))
    certified = table("nist_strd/norris_certified.toml")["norris"]
    anova = certified["anova"]
    f = (line.slope / line.slope_sd) ** 2
    pairs = {
        "b0": (line.intercept, certified["b0"]),
        "b0_sd": (line.intercept_sd, certified["b0_sd"]),
        "b1": (line.slope, certified["b1"]),
        "b1_sd": (line.slope_sd, certified["b1_sd"]),
        "residual_sd": (line.residual_sd, certified["residual_sd"]),
        "r_squared": (f / (f + line.degrees_of_freedom), certified["r_squared"]),
        "f": (f, anova["f_statistic"]),
        "regression_ss": (line.slope**2 * line.sxx, anova["regression_ss"]),
        "residual_ss": (line.residual_sd**2 * line.degrees_of_freedom, anova["residual_ss"]),
    }
    for key, (ours, figure) in pairs.items():
        assert ours == pytest.approx(float(figure), rel=1e-12), key
    assert (line.n, line.degrees_of_freedom) == (certified["n"], anova["residual_df"])


def test_thermometer() -> None:
    """JCGM 100:2008 H.3.3 and H.3.4."""
    line, printed = thermometer(), THERMOMETER["printed"]
    assert line.intercept == as_printed(printed["y1_c"])
    assert line.intercept_sd == as_printed(printed["y1_sd_c"])
    assert line.slope == as_printed(printed["y2"])
    assert line.slope_sd == as_printed(printed["y2_sd"])
    assert line.covariance / (line.intercept_sd * line.slope_sd) == as_printed(printed["correlation_y1_y2"])
    assert line.residual_sd == as_printed(printed["residual_sd_c"])
    assert line.degrees_of_freedom == printed["df"]


def test_thermometer_at_30_degrees_needs_the_covariance() -> None:
    """JCGM 100:2008 H.3.4: u(30 C) = 0.0041; left out, the covariance would make 0.0073 of it."""
    line, printed = thermometer(), THERMOMETER["printed"]
    assert line.at(10) == as_printed(printed["correction_at_30_c"])
    assert line.sd_at(10) == as_printed(printed["u_correction_at_30_c"])
    assert line.sd_at(10) == pytest.approx(float(THERMOMETER["recomputed"]["u_correction_at_30_c"]), rel=1e-6)
    variances = line.intercept_sd**2 + (10 * line.slope_sd) ** 2
    assert math.sqrt(variances) == as_printed("0.0073")
    assert math.sqrt(variances + 2 * 10 * line.covariance) == pytest.approx(line.sd_at(10), rel=1e-12)


def test_linewidth_calibration() -> None:
    """2.3.6.7.2: 40 readings of ten line widths."""
    line = linewidth()
    assert line.intercept == as_printed(LINEWIDTH["intercept"])
    assert line.intercept_sd == as_printed(LINEWIDTH["intercept_sd"])
    assert line.slope == as_printed(LINEWIDTH["slope"])
    assert line.slope_sd == as_printed(LINEWIDTH["slope_sd"])
    assert line.intercept_sd**2 == as_printed(LINEWIDTH["var_intercept"])
    assert line.slope_sd**2 == as_printed(LINEWIDTH["var_slope"])
    assert line.covariance == as_printed(LINEWIDTH["cov"])
    assert line.residual_sd == as_printed(LINEWIDTH["residual_sd"])
    assert line.degrees_of_freedom == LINEWIDTH["df"]


@pytest.mark.parametrize("y", [0.5, 2.0, 6.0, 11.5])
def test_a_corrected_value(y: float) -> None:
    """2.3.6.7.3's formula, written out with the printed coefficients, variances and covariance."""
    names = ("intercept", "slope", "residual_sd", "var_intercept", "var_slope", "cov")
    a, b, s, var_a, var_b, cov = (float(LINEWIDTH[name]) for name in names)
    x, u = linewidth().corrected(y)
    assert x == pytest.approx((y - a) / b, rel=1e-6)
    expected = var_a / b**2 + (y - a) ** 2 * var_b / b**4 + s**2 / b**2 + 2 * (y - a) * cov / b**3
    assert u == pytest.approx(math.sqrt(expected), rel=1e-4)


LOTS = [
    80,
    30,
    50,
    90,
    70,
    60,
    120,
    80,
    100,
    50,
    40,
    70,
    90,
    20,
    110,
    100,
    30,
    50,
    90,
    110,
    30,
    90,
    40,
    80,
    70,
]
HOURS = [399, 121, 221, 376, 361, 224, 546, 352, 353, 157, 160, 252, 389]
HOURS += [113, 435, 420, 212, 268, 377, 421, 273, 468, 244, 342, 323]


def test_confidence_and_prediction_interval() -> None:
    """Kutner, Nachtsheim, Neter and Li, Applied Linear Statistical Models, 5th edition, 1.6 and 2.4 to 2.5:
    hours of work against lot size. The 25 pairs were seen in public code, the printed results are from
    memory."""
    line = fit_line(LOTS, HOURS)
    assert (line.intercept, line.slope) == (as_printed("62.37"), as_printed("3.5702"))
    assert line.residual_sd**2 == as_printed("2384")
    assert line.sd_at(65) == as_printed("9.918")
    assert line.confidence(65, 0.90) == (as_printed("277.4"), as_printed("311.4"))
    assert line.next_sd_at(100) == as_printed("50.87")
    assert line.prediction(100, 0.90) == (as_printed("332.2"), as_printed("506.6"))


def test_points_on_a_line_are_certain() -> None:
    line = fit_line([0.0, 1.0, 2.0, 3.0], [1.0, 3.0, 5.0, 7.0])
    assert line.residual_sd == 0.0
    assert line.slope_chance == 0.0
    assert line.prediction(10.0) == (21.0, 21.0)


def test_no_slope_at_all_is_chance() -> None:
    line = fit_line([0.0, 1.0, 2.0], [5.0, 5.0, 5.0])
    assert line.slope_chance == 1.0
    with pytest.raises(ValueError, match="backwards"):
        line.corrected(5.0)


@pytest.mark.parametrize(("xs", "ys"), [([1.0, 2.0], [1.0, 2.0]), ([0.1] * 3, [1.0, 2.0, 3.0]), ([], [])])
def test_what_makes_no_line(xs: list[float], ys: list[float]) -> None:
    with pytest.raises(ValueError, match="a line needs 3"):
        fit_line(xs, ys)


pairs = st.lists(
    st.tuples(st.integers(-100, 100), st.integers(-100, 100)),
    min_size=3,
    max_size=20,
    unique_by=lambda xy: xy[0],
)


@given(pairs, st.sampled_from([0.01, 1.0, 50.0]), st.integers(-500, 500), st.integers(-500, 500))
def test_other_units_and_origins_make_the_same_line(
    points: list[tuple[int, int]], factor: float, right: int, up: int
) -> None:
    xs, ys = zip(*points, strict=True)
    plain = fit_line(xs, ys)
    other = fit_line([right + x for x in xs], [up + factor * y for y in ys])
    for x in (-200.0, 0.0, 37.5):
        assert other.at(right + x) == pytest.approx(up + factor * plain.at(x), abs=1e-7)
        assert other.next_sd_at(right + x) == pytest.approx(factor * plain.next_sd_at(x), rel=1e-7, abs=1e-7)


@given(pairs, st.floats(-300, 300))
def test_a_single_value_is_less_certain_than_the_line(points: list[tuple[int, int]], x: float) -> None:
    line = fit_line(*zip(*points, strict=True))
    inner, outer = line.confidence(x), line.prediction(x)
    assert outer.low <= inner.low <= line.at(x) <= inner.high <= outer.high


def test_digits_are_kept_as_sources_print_them() -> None:
    """The helper of these tests: 0.0041 is anything from 0.00405 to 0.00415."""
    assert as_printed(Decimal("0.0041")) == 0.00414
    assert as_printed(Decimal("0.0041")) != 0.00416
