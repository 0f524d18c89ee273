"""Control charts against the NIST/SEMATECH e-Handbook; the figures with their sections in tests/reference."""

import math
from statistics import fmean, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy.drift import (
    around_known,
    around_mean,
    cusum,
    ewma,
    ewma_half_width,
    factors,
    individuals,
    moving_ranges,
)
from meterlog.accuracy.drift.charts import D2_OF_TWO
from tests.accuracy.drift.published import as_printed, column, rows, table

FLOW = column("nist_handbook/individuals_6_3_2_2.csv", "y")
GROUPS = rows("nist_handbook/cusum_6_3_2_3.csv")
CHECKS = rows("nist_handbook/linewidth_checks.csv")
HEAT_FLOW = column("nist_handbook/heat_flow_zarr13.csv", "y")


def test_individuals() -> None:
    """6.3.2.2, flow rate of ten batches."""
    printed = table("nist_handbook/individuals_6_3_2_2.toml")["printed"]
    chart = individuals(FLOW)
    assert chart.centre == as_printed(printed["centre"])
    assert (chart.low[0], chart.high[0]) == (as_printed(printed["lcl"]), as_printed(printed["ucl"]))
    assert list(chart.alarms) == printed["points_out_of_limits"]


def test_moving_ranges() -> None:
    """6.3.2.2; the upper limit is D4 for two times the mean."""
    chart = moving_ranges(FLOW)
    listed = [row["moving_range_printed"] for row in rows("nist_handbook/individuals_6_3_2_2.csv")]
    assert chart.points == tuple(as_printed(one) for one in listed[1:])
    assert chart.centre == as_printed(
        table("nist_handbook/individuals_6_3_2_2.toml")["printed"]["mean_moving_range"]
    )
    assert chart.high[0] / chart.centre == as_printed("3.267")
    assert chart.low[0] == 0.0
    assert chart.alarms == ()


def test_the_handbook_s_d2_is_the_exact_one_rounded() -> None:
    assert round(factors(2).d2, 3) == D2_OF_TWO


def test_later_values_do_not_move_the_limits() -> None:
    """6.3.2.2's limits, 45.8159 and 55.8041, and two made-up batches after them."""
    chart = individuals(FLOW, [55.80, 55.81])
    assert chart.high == individuals(FLOW).high[:1] * 12
    assert chart.alarms == (11,)
    assert moving_ranges(FLOW, [52.0, 58.2]).alarms == (10,)


def test_ewma() -> None:
    """6.3.2.4: all 20 printed values and the limits. Of the limits the handbook prints one from an exact and
    one from a rounded factor, so they are off by up to 1e-4."""
    given_, printed = (table("nist_handbook/ewma_6_3_2_4.toml")[key] for key in ("given", "printed"))
    weight, sd, target = (float(given_[key]) for key in ("lambda", "s", "target"))
    chart = ewma(column("nist_handbook/ewma_6_3_2_4.csv", "y"), target, sd, weight=weight, width=3.0)
    listed = [row["ewma_printed"] for row in rows("nist_handbook/ewma_6_3_2_4.csv")]
    assert chart.points == tuple(as_printed(one) for one in listed)
    half_width = ewma_half_width(sd, weight)
    assert target + half_width == as_printed(printed["ucl"], units=1)
    assert target - half_width == as_printed(printed["lcl"], units=1)
    assert half_width / (3 * sd) == as_printed(printed["factor"])
    assert list(chart.alarms) == printed["points_out_of_limits"]


def test_exact_limits_of_the_ewma() -> None:
    """6.3.2.4's formula: after one value weight * sd, and close to what they tend to after many."""
    assert ewma_half_width(2.0, 0.3, 3.0, after=1) == pytest.approx(3 * 2.0 * 0.3)
    assert ewma_half_width(2.0, 0.3, 3.0, after=60) == pytest.approx(ewma_half_width(2.0, 0.3))
    chart = ewma([50.0] * 5, 50.0, 2.0, weight=0.3)
    assert list(chart.high) == sorted(chart.high)
    assert [high - 50.0 for high in chart.high] == pytest.approx([50.0 - low for low in chart.low])


def test_weight_one_fifth_has_limits_at_one_standard_deviation() -> None:
    """Common practice for checks: weight 0.2 and three standard deviations make 1.0 s."""
    assert ewma_half_width(1.0, 0.2, 3.0) == pytest.approx(1.0)


def test_weight_one_is_the_chart_of_single_values() -> None:
    chart = ewma(FLOW, 50.0, 2.0, weight=1.0)
    assert chart.points == tuple(FLOW)
    assert set(chart.high) == {56.0}


@pytest.mark.parametrize("weight", [0.0, 1.1, math.nan])
def test_what_is_no_weight(weight: float) -> None:
    with pytest.raises(ValueError, match="weight"):
        ewma_half_width(1.0, weight)


def test_cusum() -> None:
    """6.3.2.3: all 80 printed cells. What ends in exactly 5 the handbook rounds either way."""
    given_, printed = (table("nist_handbook/cusum_6_3_2_3.toml")[key] for key in ("given", "printed"))
    found = cusum([float(row["y"]) for row in GROUPS], *(float(given_[key]) for key in ("target", "k", "h")))
    for key, ours in (
        ("deviation_printed", found.deviations),
        ("s_hi_printed", found.high),
        ("s_lo_printed", found.low),
        ("cusum_printed", found.sums),
    ):
        assert ours == tuple(as_printed(row[key]) for row in GROUPS), key
    assert [place + 1 for place in found.alarms] == printed["signal_groups"]
    assert found.alarms[0] + 1 == printed["first_signal_group"] == 14


def test_a_fall_gathers_as_a_rise_does() -> None:
    mirrored = cusum([650.0 - float(row["y"]) for row in GROUPS], 325.0, 0.3175, 4.1959)
    plain = cusum([float(row["y"]) for row in GROUPS], 325.0, 0.3175, 4.1959)
    assert mirrored.low == pytest.approx(plain.high)
    assert mirrored.alarms == plain.alarms


def test_linewidth_checks() -> None:
    """2.3.7 and 2.3.7.1: three check artefacts a day about a calibration line. t* is printed; the limit,
    0.15697 um, and that day 4 is out with all three are recomputed from it, not printed in the text that
    was seen."""
    figures = table("nist_handbook/linewidth.toml")["checks"]
    intercept, slope, s = (float(figures["given"][key]) for key in ("intercept", "slope", "residual_sd"))
    values = [(float(row["measured_um"]) - intercept) / slope - float(row["reference_um"]) for row in CHECKS]
    assert values == [as_printed(row["control_value_um"]) for row in CHECKS]
    assert stdev(values) == as_printed(figures["printed"]["sd_of_control_values"])
    chart = around_known(values, 0.0, s / slope, figures["given"]["df"], together=3)
    assert chart.high[0] == pytest.approx(float(figures["recomputed"]["limit_um"]), rel=1e-6)
    assert chart.high[0] * slope / s == as_printed(figures["printed"]["t_star"])
    assert [(CHECKS[place]["day"], CHECKS[place]["position"]) for place in chart.alarms] == [
        ("4", "L"),
        ("4", "M"),
        ("4", "U"),
    ]


def test_around_the_mean_of_a_history() -> None:
    """2.2.2: mean and t * s; t for 9 degrees of freedom is 2.262 (JCGM 100:2008 Table G.2)."""
    chart = around_mean(FLOW, [70.0])
    assert chart.centre == fmean(FLOW)
    assert chart.high[0] - chart.centre == pytest.approx(2.262 * stdev(FLOW), rel=3e-4)
    assert chart.alarms == (10,)


def test_values_that_hang_together_make_the_individuals_chart_cry() -> None:
    """1.4.2.8: heat flow has no drift, but lag-1 autocorrelation 0.28. The handbook draws no such chart of
    it. Its mean moving range, and so its limits, are smaller than the spread warrants: 3 alarms in 195 (our
    figure) against 0.5 for independent values."""
    chart = individuals(HEAT_FLOW)
    assert chart.high[0] - chart.centre < 2.5 * stdev(HEAT_FLOW)
    assert len(chart.alarms) == 3
    assert around_mean(HEAT_FLOW, significance=0.0027).alarms == ()


@pytest.mark.parametrize("chart", [individuals, moving_ranges, around_mean])
def test_no_chart_without_a_history(chart: object) -> None:
    assert callable(chart)
    with pytest.raises(ValueError, match="history of two"):
        chart([1.0])


def test_a_display_that_repeats_itself_makes_no_alarm() -> None:
    assert individuals([0.1] * 7).alarms == ()
    assert around_mean([0.1] * 7).alarms == ()


histories = st.lists(st.integers(-1000, 1000).map(float), min_size=3, max_size=30)


@given(histories, st.sampled_from([0.001, 7.0, -3.0]), st.integers(-1000, 1000))
def test_shifted_and_scaled_values_make_the_same_alarms(
    history: list[float], factor: float, shift: int
) -> None:
    """Values near a limit may fall to either side by rounding, so limits are compared and not alarms."""
    plain, other = individuals(history), individuals([shift + factor * value for value in history])
    width = (plain.high[0] - plain.low[0]) * abs(factor)
    assert other.centre == pytest.approx(shift + factor * plain.centre, abs=1e-8)
    assert other.high[0] - other.low[0] == pytest.approx(width, abs=1e-8)


@given(histories, st.floats(0.05, 1.0))
def test_an_average_stays_among_its_values(history: list[float], weight: float) -> None:
    chart = ewma(history, 0.0, 1.0, weight=weight)
    assert min(0.0, *history) - 1e-9 <= min(chart.points)
    assert max(chart.points) <= max(0.0, *history) + 1e-9
