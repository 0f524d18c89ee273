"""Likelihood ratio, run lengths and Kalman filter against the same worked out the long way."""

import itertools
import math
import random
from collections import deque
from collections.abc import Sequence
from statistics import fmean, linear_regression

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.trials.settling.methods.likelihood_ratio import LikelihoodRatio, best_split
from tests.trials.settling.methods.run_length import REACH, RunLengths
from tests.trials.settling.methods.trend import LocalLinearTrend


@given(st.lists(st.integers(-20, 20).map(float), min_size=2, max_size=20))
def test_the_best_split_is_the_one_with_least_squares_about_two_means(xs: list[float]) -> None:
    def squares(part: Sequence[float]) -> float:
        return sum((x - fmean(part)) ** 2 for x in part)

    gains = [squares(xs) - squares(xs[:k]) - squares(xs[k:]) for k in range(1, len(xs))]
    latest, best = best_split(deque(xs))
    assert best == pytest.approx(max(gains), abs=1e-9)
    if best > 0.0:
        assert gains[len(xs) - latest - 1] == pytest.approx(best, abs=1e-9)


def test_a_change_of_the_mean_is_found_and_dated() -> None:
    noise = random.Random("a change of four deviations")
    test = LikelihoodRatio(30, 10.0)
    xs = [noise.gauss(0.0 if i < 15 else 2.0, 0.5) for i in range(30)]
    found, new = next((i, n) for i, x in enumerate(xs) if (n := test.step(x, 1.0, 0.25)))
    assert 16 <= found <= 20
    assert found - new + 1 == pytest.approx(15, abs=1)


PRIOR, HAZARD_PER_S = 0.5, 0.3


def log_evidence(xs: Sequence[float], origin: float) -> float:
    """Of readings on one level: K. P. Murphy, Conjugate Bayesian Analysis of the Gaussian (2007), eq. 95."""
    n, mean, kappa0 = len(xs), fmean(xs), (PRIOR / REACH) ** 2
    kappa, alpha = kappa0 + n, 1.0 + n / 2.0
    beta = PRIOR**2 + 0.5 * sum((x - mean) ** 2 for x in xs)
    beta += kappa0 * n * (mean - origin) ** 2 / (2.0 * kappa)
    return (
        math.lgamma(alpha)
        + math.log(PRIOR**2)
        - alpha * math.log(beta)
        + 0.5 * math.log(kappa0 / kappa)
        - n / 2.0 * math.log(2.0 * math.pi)
    )


def evidence_by_last_start(xs: Sequence[float]) -> list[float]:
    """Probability of where the last level begins, summed over all ways to cut the readings into levels."""
    n, hazard = len(xs), -math.expm1(-HAZARD_PER_S)
    weights = [0.0] * n
    for cuts in itertools.product((False, True), repeat=n - 1):
        starts = [0, *(i for i, cut in enumerate(cuts, 1) if cut)]
        prior = hazard ** sum(cuts) * (1.0 - hazard) ** (n - 1 - sum(cuts))
        parts = zip(starts, [*starts[1:], n], strict=True)
        weights[starts[-1]] += prior * math.exp(sum(log_evidence(xs[a:b], xs[0]) for a, b in parts))
    return [weight / sum(weights) for weight in weights]


@pytest.mark.parametrize(
    "xs", [[0.0, 0.3, -0.2, 0.1], [0.0, 0.2, 5.0, 5.1, 4.9, 5.3], [1.0, 2.0, 3.0, 4.0, 5.0]]
)
def test_run_lengths_are_those_of_all_ways_to_cut(xs: list[float]) -> None:
    lengths = RunLengths(PRIOR, HAZARD_PER_S)
    for i, x in enumerate(xs):
        lengths.step(float(i), x)
    expected = evidence_by_last_start(xs)
    for run in lengths.runs:
        assert run.probability == pytest.approx(expected[round(run.start_s)], abs=1e-3)
        assert run.n == len(xs) - round(run.start_s)
    assert sum(run.probability for run in lengths.runs) == pytest.approx(1.0, abs=1e-3)
    for since in range(len(xs)):
        assert lengths.older_than(float(since)) == pytest.approx(sum(expected[: since + 1]), abs=1e-3)


def test_the_run_that_never_ended_is_not_forgotten() -> None:
    noise, lengths = random.Random("one level"), RunLengths(0.3, 0.02)
    for i in range(400):
        lengths.step(float(i), noise.gauss(0.0, 0.3))
    assert lengths.older_than(0.0) > 0.5
    run = max(lengths.runs, key=lambda run: run.probability)
    assert math.sqrt(2.0 * run.beta / (run.n + 2)) == pytest.approx(0.3, rel=0.3)


def test_a_trend_that_never_changes_is_the_least_squares_line() -> None:
    """Level, trend and their deviations are then those of the regression at its last point."""
    noise, sigma = random.Random("a line"), 0.2
    times_s = list(itertools.accumulate(noise.uniform(0.1, 1.0) for _ in range(30)))
    xs = [3.0 - 0.5 * t + noise.gauss(0.0, sigma) for t in times_s]
    trend = LocalLinearTrend(wander=0.0, unknown=1e8)
    for before_s, t, x in zip([0.0, *times_s], times_s, xs, strict=False):
        trend.step(x, t - before_s, sigma**2)
    line = linear_regression(times_s, xs)
    stt = sum((t - fmean(times_s)) ** 2 for t in times_s)
    assert trend.trend == pytest.approx(line.slope, rel=1e-5)
    assert trend.level == pytest.approx(line.intercept + line.slope * times_s[-1], rel=1e-5)
    assert math.sqrt(trend.p_tt) == pytest.approx(sigma / math.sqrt(stt), rel=1e-5)
    ahead_s = 5.0
    lever = 1.0 / len(xs) + (times_s[-1] + ahead_s - fmean(times_s)) ** 2 / stt
    assert trend.deviation_ahead(ahead_s) == pytest.approx(sigma * math.sqrt(lever), rel=1e-4)
