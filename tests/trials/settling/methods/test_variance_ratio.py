"""Ratio of variances against worked numbers: tests/reference/steady_state/r_statistic.toml.

Definition by Cao and Rhinehart, Journal of Process Control 5(6) 1995; the trace on the first counts of
NIST's Josephson record and the distribution for white noise were computed apart from this code.
"""

import csv
import math
import random
from typing import Any

import pytest

from tests.detect.signals import REFERENCE, column, table
from tests.trials.settling.methods.variance_ratio import RatioOfVariances

ROWS = tuple(csv.DictReader((REFERENCE / "steady_state/r_trace_josephson.csv").read_text().splitlines()))
SIMULATED = table("steady_state/r_statistic.toml")["simulated"]


def test_every_column_of_the_trace() -> None:
    ratio = RatioOfVariances(0.2, 0.1, 0.1)
    assert len(ROWS) == 60
    counts = column("nist_handbook/josephson_soulen.csv", "y")
    for row, x in zip(ROWS, counts, strict=False):
        assert x == float(row["x"])
        r = ratio.step(x)
        assert ratio.filtered == pytest.approx(float(row["xf"]), rel=1e-9)
        assert ratio.deviation2 == pytest.approx(float(row["nu2"]), rel=1e-9)
        assert ratio.change2 == pytest.approx(float(row["d2"]), rel=1e-9)
        assert r == (None if row["r"] == "" else pytest.approx(float(row["r"]), rel=1e-9))


@pytest.mark.parametrize(("limit", "first"), [(2.0, 120), (1.44, 126), (1.0, 134)])
def test_a_step_stays_in_the_filters_for_long(limit: float, first: int) -> None:
    """steady_state/step_response.toml: a step of 800 times the noise, settled at reading 54."""
    ratio = RatioOfVariances()
    trace = [ratio.step(x) for x in column("steady_state/step_response.csv", "x")]
    assert next(i for i, r in enumerate(trace, 1) if i > 5 and r is not None and r < limit) == first


def white_noise_ratios(factors: tuple[float, float, float], n: int) -> list[float]:
    noise = random.Random("white noise")
    ratio = RatioOfVariances(*factors)
    trace = [ratio.step(noise.gauss()) for _ in range(n + 400)]
    return sorted(r for r in trace[400:] if r is not None)


@pytest.mark.parametrize(
    ("factors", "name"),
    [((0.2, 0.1, 0.1), "l1_0_2_l2_0_1_l3_0_1"), ((0.1, 0.1, 0.1), "l1_0_1_l2_0_1_l3_0_1")],
)
def test_the_distribution_for_white_noise(factors: tuple[float, float, float], name: str) -> None:
    """Within four standard errors; the one printed is that of four million values."""
    published: dict[str, Any] = SIMULATED[name]
    n = 100_000
    ratios = white_noise_ratios(factors, n)
    for p, r, error in zip(published["p"], published["r"], published["standard_error"], strict=True):
        allowed = 4.0 * max(error, 0.0003) * math.sqrt(4_000_000 / n)
        assert ratios[round(p * n)] == pytest.approx(r, abs=allowed), p


def test_the_published_critical_value_is_passed_by_one_in_twenty() -> None:
    critical = table("steady_state/r_statistic.toml")["published_critical_value"]
    ratios = white_noise_ratios((critical["l1"], critical["l2"], critical["l3"]), 100_000)
    above = sum(r > critical["r_critical"] for r in ratios) / len(ratios)
    assert above == pytest.approx(1.0 - critical["level"], abs=0.006)


def test_imaginary_noise_hides_a_slow_ramp() -> None:
    """Noise of variance 1 added in thought: a ramp of a tenth of it per reading is nearly steady."""
    bare, covered = RatioOfVariances(), RatioOfVariances()
    for i in range(100):
        ratios = bare.step(0.1 * i), covered.step(0.1 * i, floor=1.0)
    assert ratios[0] is not None
    assert ratios[0] > 20.0
    assert ratios[1] == pytest.approx(1.0, abs=0.25)
