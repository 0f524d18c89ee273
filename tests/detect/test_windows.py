"""Window statistics against certified values.

NIST Statistical Reference Datasets (https://www.itl.nist.gov/div898/strd/): NumAcc3, NumAcc4, Norris;
certified values in tests/reference/nist_strd. Student's t: layout of JCGM 100:2008 Table G.2, computed.
"""

import csv
import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.detect.estimate import Estimator, tail_gain_s
from meterlog.detect.student import students_t
from meterlog.detect.sums import Line, Sums
from meterlog.detect.windows import Windows
from tests.detect.signals import REFERENCE, column, table


def line_through(points: list[tuple[float, float]]) -> Line:
    sums = Sums(*points[0])
    mark = sums.start(*points[0])
    for point in points[1:]:
        sums.add(*point)
    return sums.line_since(mark)


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


def spans_s(windows: Windows) -> list[float]:
    return [line.span_s for line in windows.longest_first()]


def test_the_number_of_windows_does_not_grow_with_the_readings() -> None:
    windows = Windows(1.0, 6.0)
    for i in range(20_000):
        windows.add(0.01 * i, float(i % 3))
    ages = spans_s(windows)
    assert len(ages) <= 8
    assert ages == sorted(ages, reverse=True)
    assert 1.0 - 1e-6 <= ages[-1] <= 1.2
    assert 4.0 <= ages[0] <= 9.0


def test_the_longer_windows_take_turns() -> None:
    windows = Windows(1.0, 6.0)
    for i in range(100):
        windows.add(0.1 * i, float(i % 3))
    ages = spans_s(windows)
    turns = [line.span_s for line in (windows.another() for _ in ages[:-1]) if line]
    assert sorted(turns, reverse=True) == ages[:-1]


def test_a_window_given_up_takes_the_older_ones_with_it() -> None:
    windows = Windows(1.0, 6.0)
    for i in range(60):
        windows.add(0.1 * i, 0.0 if i < 30 else 10.0)
    moved = [line for line in windows.longest_first() if line.variance > 1.0]
    windows.cut(moved[-1].start_s)
    assert spans_s(windows)
    assert max(spans_s(windows)) < 3.0


@given(st.integers(0, 4), st.floats(-1e6, 1e6))
def test_sums_cut_and_moved_say_the_same_as_sums_made_afresh(cuts: int, offset: float) -> None:
    """However often the sums are cut back to the oldest window, on however large an offset."""
    windows, dice = Windows(1.0, 3.0), random.Random(cuts)
    points = [(0.1 * i, offset + dice.gauss(0.0, 1.0)) for i in range(200)]
    for i, point in enumerate(points):
        windows.add(*point)
        if cuts and i % (10 * cuts) == 0 and (line := windows.shortest()):
            windows.cut(line.start_s - 1.0)
    for line in windows.longest_first():
        afresh = line_through([point for point in points if point[0] >= line.start_s])
        assert line.n == afresh.n
        for name in ("mean", "slope_per_s", "variance", "correlation", "stt"):
            # Values of a million carry ten digits after the point; their spread of one keeps nine.
            assert getattr(line, name) == pytest.approx(getattr(afresh, name), rel=1e-8, abs=1e-7), name
