"""What the methods share: moving sums, extremes, noise, Student's t."""

import math
import random
from itertools import accumulate, pairwise
from statistics import fmean, linear_regression, stdev

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.detect.signals import REFERENCE
from tests.trials.settling.methods.band import Extreme
from tests.trials.settling.methods.noise import Noise
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.methods.slope import students_t

STEPS = st.lists(st.tuples(st.integers(1, 30), st.integers(-1000, 1000)), min_size=4, max_size=40)


@given(STEPS)
def test_running_sums_are_those_of_the_readings_in_the_window(steps: list[tuple[int, int]]) -> None:
    recent, points = Recent(10.0), []
    for time_s, (_, count) in zip(accumulate(step / 8.0 for step, _ in steps), steps, strict=True):
        points.append((time_s, 1e4 + count / 16.0))
        recent.add(*points[-1])
    now_s = points[-1][0]
    first = max([i for i, (t, _) in enumerate(points) if now_s - t >= 10.0], default=0)
    times_s, xs = zip(*points[first:], strict=True)
    assert recent.n == len(xs)
    assert recent.full == (now_s - points[0][0] >= 10.0)
    assert recent.mean == pytest.approx(fmean(xs), rel=1e-12)
    assert recent.squared_changes == pytest.approx(sum((b - a) ** 2 for a, b in pairwise(xs)), abs=1e-6)
    if len(xs) > 2:
        slope, variance, stt = recent.line()
        line = linear_regression(times_s, xs)
        residuals = (x - line.intercept - line.slope * t for t, x in zip(times_s, xs, strict=True))
        assert recent.spread == pytest.approx(stdev(xs), abs=1e-5)
        assert slope == pytest.approx(line.slope, abs=1e-6)
        assert variance == pytest.approx(sum(r * r for r in residuals) / (len(xs) - 2), abs=1e-4)
        assert stt == pytest.approx(sum((t - fmean(times_s)) ** 2 for t in times_s))


@given(STEPS)
def test_extremes_of_a_moving_window(steps: list[tuple[int, int]]) -> None:
    highest, lowest, points = Extreme(1), Extreme(-1), []
    for time_s, (_, x) in zip(accumulate(float(step) for step, _ in steps), steps, strict=True):
        points.append((time_s, float(x)))
        inside = [value for t, value in points if t >= time_s - 20.0]
        assert highest.add(time_s, x, time_s - 20.0) == max(inside)
        assert lowest.add(time_s, x, time_s - 20.0) == min(inside)


@pytest.mark.parametrize("trend", [0.0, 5.0])
def test_second_differences_find_the_noise_on_a_steady_trend(trend: float) -> None:
    dice, noise = random.Random("noise on a trend"), Noise()
    variances = [noise.step(trend * i + dice.gauss(0.0, 2.0)) for i in range(5000)]
    assert variances[:2] == [0.0, 0.0]
    assert fmean(variances[100:]) == pytest.approx(4.0, rel=0.08)


def test_students_t_is_near_the_table() -> None:
    """JCGM 100:2008 Table G.2, 95 %. The expansion is 3 % low at two degrees of freedom."""
    rows = [line.split(",") for line in (REFERENCE / "gum/t_table_g2.csv").read_text().splitlines()]
    column = rows[0].index("p95")
    for row in rows[1:]:
        if row[0] != "inf" and int(row[0]) > 1:
            degrees = int(row[0])
            within = 0.006 + 2.0 / degrees**4
            assert students_t(1.959964, degrees) == pytest.approx(float(row[column]), abs=within), degrees
    assert students_t(1.959964, 10**9) == pytest.approx(1.96, abs=0.001)
    assert math.isclose(students_t(0.0, 5), 0.0)
