"""Verdicts on whole series against certified values: no digits are lost on the way.

NIST Statistical Reference Datasets (https://www.itl.nist.gov/div898/strd/), univariate summary statistics:
Mavro, Michelso, NumAcc1, NumAcc3, NumAcc4; certified values in tests/reference/nist_strd. The series have no
times; a second between readings is assumed, and the dwell is as long as the series.
"""

import math

import pytest

from meterlog.detect import DriftRate, Settled, Settlement
from meterlog.detect.sums import Sums
from tests.detect.signals import column, feed, table

CERTIFIED = table("nist_strd/univariate_certified.toml")


def series(name: str) -> list[float]:
    return column(f"nist_strd/{name}.csv", "y")


def verdict_on(name: str) -> Settlement:
    """On all readings together."""
    xs = series(name)
    readings = [(float(i), x) for i, x in enumerate(xs)]
    verdict = feed(Settled(lambda _: 100.0, len(xs) - 1.0), readings)[-1][1]
    assert verdict.readings == len(xs) == CERTIFIED[name]["n"]
    return verdict


def certified(name: str, figure: str) -> float:
    return float(CERTIFIED[name][figure])


def test_three_values_have_the_certified_mean_and_deviation() -> None:
    """NumAcc1, 10000001 to 10000003: too few to settle, so by the sums behind it."""
    low, *others = series("numacc1")
    sums = Sums(0.0, low)
    start = sums.start(0.0, low)
    for i, x in enumerate(others, start=1):
        sums.add(float(i), x)
    line = sums.line_since(start)
    squares = line.variance * (line.n - 2) + line.slope_per_s**2 * line.stt
    assert line.mean == pytest.approx(certified("numacc1", "mean"), rel=1e-15)
    assert math.sqrt(squares / (line.n - 1)) == pytest.approx(certified("numacc1", "sd"), rel=1e-14)


@pytest.mark.parametrize("name", ["numacc3", "numacc4"])
def test_the_value_of_what_does_not_drift_is_the_certified_mean(name: str) -> None:
    assert verdict_on(name).value == pytest.approx(certified(name, "mean"), rel=1e-15)


@pytest.mark.parametrize(
    ("name", "rel"),
    [("numacc3", 1e-9), ("numacc4", 1e-8), ("mavro", 1e-10), ("michelso", 1e-10)],
)
def test_spread_and_rate_make_up_the_certified_standard_deviation(name: str, rel: float) -> None:
    """That is about the mean, the verdict's spread about a line; a plain two-pass sum in double precision

    reaches 9.5 digits for NumAcc3 and 8.3 for NumAcc4, whose values are no exact binary fractions.
    """
    verdict, n = verdict_on(name), CERTIFIED[name]["n"]
    assert verdict.spread is not None
    assert verdict.rate_per_s is not None
    seconds2 = n * (n * n - 1) / 12.0
    squares = verdict.spread**2 * (n - 2) + verdict.rate_per_s**2 * seconds2
    assert math.sqrt(squares / (n - 1)) == pytest.approx(certified(name, "sd"), rel=rel)


@pytest.mark.parametrize("name", ["michelso", "mavro"])
def test_correlated_readings_say_less_than_as_many_independent_ones(name: str) -> None:
    """Certified lag-1 correlations: 0.54 and 0.94. To first order the variance grows by (1 + r) / (1 - r)."""
    n, r = CERTIFIED[name]["n"], certified(name, "lag1")
    independent = certified(name, "sd") / math.sqrt(n)
    uncertainty = verdict_on(name).standard_uncertainty
    assert uncertainty is not None
    assert uncertainty > 1.5 * independent
    assert uncertainty < 3.0 * independent * math.sqrt((1.0 + r) / (1.0 - r))


@pytest.mark.parametrize("name", ["numacc3", "numacc4"])
def test_alternating_readings_do_not_say_more_than_independent_ones(name: str) -> None:
    """Certified lag-1 correlation -0.999."""
    uncertainty = verdict_on(name).standard_uncertainty
    assert uncertainty is not None
    assert uncertainty >= certified(name, "sd") / math.sqrt(CERTIFIED[name]["n"]) * (1.0 - 1e-6)


@pytest.mark.parametrize(
    ("name", "batch", "rel"),
    [("mavro", 5, 1e-15), ("michelso", 5, 1e-15), ("numacc3", 77, 1e-15), ("numacc4", 77, 1e-15)],
)
def test_the_level_of_a_drift_is_the_certified_mean(name: str, batch: int, rel: float) -> None:
    """The number of readings is a multiple of the batch; one more reading completes the last batch."""
    xs = series(name)
    assert len(xs) % batch == 0
    readings = [(float(i), x) for i, x in enumerate([*xs, xs[-1]])]
    drift = feed(DriftRate(48.0 * batch), readings)[-1][1]
    assert drift.readings == len(xs)
    assert drift.level == pytest.approx(certified(name, "mean"), rel=rel)
