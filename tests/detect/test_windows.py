"""Window statistics against certified values.

NIST Statistical Reference Datasets (https://www.itl.nist.gov/div898/strd/): NumAcc3, NumAcc4, Norris;
certified values in tests/reference/nist_strd. Student's t: layout of JCGM 100:2008 Table G.2, computed.
"""

import csv
import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.detect.estimate import Estimator, is_ramp, tail_gain_s
from meterlog.detect.student import students_t
from meterlog.detect.windows import Line, Window, Windows
from tests.detect.signals import REFERENCE, column, table


def line_through(points: list[tuple[float, float]]) -> Line:
    window = Window(*points[0])
    for (before_s, before), (t, x) in pairwise(points):
        window.add(t, x, t - before_s, x - before)
    return window.line(points[-1][0])


@pytest.mark.parametrize(("name", "digits"), [("numacc3", 9), ("numacc4", 8)])
def test_a_small_spread_on_a_large_offset_keeps_its_digits(name: str, digits: int) -> None:
    """A sum of squares in one pass loses every digit of NumAcc4's spread."""
    certified = table("nist_strd/univariate_certified.toml")[name]
    values = column(f"nist_strd/{name}.csv", "y")
    line = line_through([(float(i), x) for i, x in enumerate(values)])
    assert line.mean == pytest.approx(float(certified["mean"]), rel=1e-14)
    # The certified spread is about the mean; about the line it has one degree of freedom less.
    n, mean_square = len(values), line.variance * (len(values) - 2) + line.slope_per_s**2 * line.stt
    assert math.sqrt(mean_square / (n - 1)) == pytest.approx(float(certified["sd"]), rel=10.0**-digits * 2)


def test_the_line_is_the_certified_one() -> None:
    certified = table("nist_strd/norris_certified.toml")["norris"]
    xs, ys = column("nist_strd/norris.csv", "x"), column("nist_strd/norris.csv", "y")
    line = line_through(sorted(zip(xs, ys, strict=True)))
    assert line.slope_per_s == pytest.approx(float(certified["b1"]), rel=1e-12)
    assert math.sqrt(line.variance) == pytest.approx(float(certified["residual_sd"]), rel=1e-8)
    assert math.sqrt(line.variance / line.stt) == pytest.approx(float(certified["b1_sd"]), rel=1e-8)


def test_alternating_readings_are_not_taken_for_correlated() -> None:
    """NumAcc3's certified lag-1 correlation is -0.999: that never widens nor narrows an uncertainty."""
    line = line_through([(float(i), x) for i, x in enumerate(column("nist_strd/numacc3.csv", "y"))])
    assert line.correlation == 0.0
    assert line.widening == 1.0


def test_students_t_agrees_with_the_table() -> None:
    with (REFERENCE / "gum/t_table_g2.csv").open(newline="") as rows:
        for row in csv.DictReader(rows):
            degrees = math.inf if row["df"] == "inf" else float(row["df"])
            assert students_t(degrees) == pytest.approx(float(row["p95"]), abs=0.006), row["df"]


@pytest.mark.parametrize("degrees", [-1.0, 0.0, 1.0, 1.9])
def test_fewer_than_two_degrees_of_freedom_count_as_one(degrees: float) -> None:
    assert students_t(degrees) == 12.71


@pytest.mark.parametrize(("window_s", "tail_s"), [(0.01, 1.0), (1.0, 1.0), (3.0, 0.5), (10.0, 0.5)])
def test_the_gain_of_a_tail_is_that_of_a_tail_sampled_finely(window_s: float, tail_s: float) -> None:
    n = 4000
    times = [(i + 0.5) * window_s / n for i in range(n)]
    line = line_through([(t, math.exp(-t / tail_s)) for t in times])
    assert tail_gain_s(window_s, tail_s) == pytest.approx(-line.mean / line.slope_per_s, rel=1e-3)


@given(st.floats(0.01, 100.0), st.floats(0.01, 10.0))
def test_a_slower_tail_has_the_larger_gain(window_s: float, tail_s: float) -> None:
    assert window_s / 6.0 <= tail_gain_s(window_s, tail_s) <= tail_gain_s(window_s, 1.5 * tail_s) * (1 + 1e-6)


def test_the_time_constant_of_a_tail_that_is_over_at_the_horizon() -> None:
    """First-order settling: 5 % remain after 2.9957 time constants, ln(1 / 0.05); the horizon is three."""
    remaining = dict(
        zip(
            column("steady_state/first_order_settling.csv", "remaining_error"),
            column("steady_state/first_order_settling.csv", "time_constants"),
            strict=True,
        )
    )
    for error, constants in remaining.items():
        assert math.exp(-constants) == pytest.approx(error, rel=1e-4)
    assert remaining[0.05] == pytest.approx(3.0, abs=0.005)


@given(st.floats(0.1, 1.6), st.floats(-5.0, 5.0), st.floats(1.0, 4.0))
def test_the_bound_covers_where_any_tail_ends(tail_s: float, size: float, age_s: float) -> None:
    """Without noise: the level a tail tends to lies within the bound of the estimate."""
    estimator = Estimator(1.6, 1.0)
    line = line_through([(age_s + 0.1 * i, size * math.exp(-(age_s + 0.1 * i) / tail_s)) for i in range(11)])
    bound = estimator.bound(line, 0.0, 0.0)
    assert abs(estimator.estimate(bound, 0.0).value) <= bound.total * (1 + 1e-6) + 1e-12


def test_a_straight_line_is_a_ramp_and_a_tail_is_none() -> None:
    times = [0.1 * i for i in range(31)]
    assert is_ramp(line_through([(t, t) for t in times]), 1.0)
    assert not is_ramp(line_through([(t, t) for t in times]), 2.0)
    assert not is_ramp(line_through([(t, 4.0 * math.exp(-t / 1.5)) for t in times]), 1.0)


def test_the_number_of_windows_does_not_grow_with_the_readings() -> None:
    windows = Windows(1.0, 6.0)
    for i in range(20_000):
        windows.add(0.01 * i, float(i % 3))
    ages = [line.span_s for line in windows.lines(3, math.inf)]
    assert len(ages) <= 8
    assert ages == sorted(ages)
    assert 1.0 - 1e-6 <= ages[0] <= 1.2
    assert 4.0 <= ages[-1] <= 9.0


def test_a_window_that_holds_a_move_is_given_up() -> None:
    windows = Windows(1.0, 6.0)
    for i in range(60):
        windows.add(0.1 * i, 0.0 if i < 30 else 10.0)
    spans = [line.span_s for line in windows.lines(3, 1.0)]
    assert spans
    assert max(spans) < 3.0
