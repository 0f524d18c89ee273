"""Drift rate against lines known beforehand, and honest errors by simulation with a fixed seed."""

import random

import pytest

from meterlog.detect import Drift, DriftRate
from meterlog.detect.student import students_t
from meterlog.reading import State
from tests.detect.signals import feed, sampled


def test_a_straight_line_gives_its_slope_exactly() -> None:
    drift = feed(DriftRate(60.0), sampled(lambda t: 5.0 - 0.001 * t, until_s=100.0))[-1][1]
    assert drift.rate_per_s == pytest.approx(-0.001, rel=1e-9)
    assert drift.standard_error == pytest.approx(0.0, abs=1e-9)
    assert 50.0 <= drift.span_s <= 60.0


def test_only_the_window_counts() -> None:
    drift = feed(DriftRate(20.0), sampled(lambda t: max(0.0, t - 50.0), until_s=75.0))[-1][1]
    assert drift.rate_per_s == pytest.approx(1.0)


@pytest.mark.parametrize("period_s", [0.1, 2.5])
def test_the_standard_error_is_honest(period_s: float) -> None:
    """95 % inside t times the standard error, for white noise; fast and slow meters alike."""
    inside, total = 0, 100
    for seed in range(total):
        readings = sampled(lambda t: 0.002 * t, until_s=65.0, period_s=period_s, sigma=0.05, seed=seed)
        drift = feed(DriftRate(60.0), readings)[-1][1]
        assert drift.rate_per_s is not None
        assert drift.standard_error is not None
        assert drift.degrees_of_freedom is not None
        inside += abs(drift.rate_per_s - 0.002) <= students_t(drift.degrees_of_freedom) * drift.standard_error
    assert inside >= 90


def test_correlated_noise_widens_the_error() -> None:
    noise, level, walk = random.Random(3), 0.0, []
    for i in range(650):
        level = 0.98 * level + noise.gauss(0.0, 0.01)
        walk.append((0.1 * i, level))
    shuffled = [x for _, x in walk]
    noise.shuffle(shuffled)
    slow = feed(DriftRate(60.0), walk)[-1][1].standard_error
    white = feed(DriftRate(60.0), [(t, x) for (t, _), x in zip(walk, shuffled, strict=True)])[-1][
        1
    ].standard_error
    assert slow is not None
    assert white is not None
    assert slow > 2.0 * white


def test_a_display_that_does_not_move_leaves_its_count_open() -> None:
    drift = feed(DriftRate(60.0), [(0.4 * i, 1.0) for i in range(200)], count=0.001)[-1][1]
    assert drift.rate_per_s == 0.0
    assert drift.standard_error is not None
    assert drift.standard_error > 0.0


def test_nothing_is_said_before_there_is_enough() -> None:
    assert feed(DriftRate(60.0), [(0.4 * i, 1.0) for i in range(9)])[-1][1] == Drift()


def test_gap_range_and_state_begin_anew() -> None:
    for broken in (
        {"value": None, "state": State.OVERLOAD},
        {"value": 1.0, "state": State.OK, "range_max": 9.0},
    ):
        detector = DriftRate(10.0)
        feed(detector, [(0.4 * i, 1.0) for i in range(50)])
        assert detector.update(20.0, **broken) == Drift()
    detector = DriftRate(10.0)
    feed(detector, [(0.4 * i, 1.0) for i in range(50)])
    assert detector.update(40.0, 1.0, State.OK) == Drift()


def test_reset_and_duplicates() -> None:
    detector = DriftRate(10.0)
    last = feed(detector, [(0.4 * i, 1.0) for i in range(50)])[-1][1]
    assert detector.update(19.6, 77.0, State.OK) == last
    detector.reset()
    assert detector.update(20.0, 1.0, State.OK) == Drift()


def test_a_window_that_is_none_is_refused() -> None:
    with pytest.raises(ValueError, match="window_s is 0"):
        DriftRate(0.0)
