"""Where a moving level is: the short line, its lag correction, its noise. Invented numbers, exact answers."""

import random

import pytest

from meterlog.detect.track import UNKNOWN_NOISE, Pace, Track
from tests.detect.signals import Readings, lagging, sampled

WAY = 1.0


def followed(readings: Readings, lag_s: float = 0.0, noise: float | None = None) -> Pace:
    track = Track(WAY, lag_s)
    for reading in readings:
        for point in track.bunched(*reading):
            track.add(point)
    return track.pace(track.noise(0.0) if noise is None else noise, 0.1)


def falling(t: float) -> float:
    return 1.0 - 0.3 * t


def test_an_even_fall_is_told_exactly() -> None:
    pace = followed(sampled(falling, until_s=2.0, period_s=0.1), noise=0.0)
    assert pace.level == pytest.approx(falling(pace.at_s))
    assert pace.rate_per_s == pytest.approx(-0.3)


@pytest.mark.parametrize("lag_s", [0.1, 0.4])
def test_the_lag_is_taken_out(lag_s: float) -> None:
    """A first-order filter follows an even ramp so many seconds behind (textbook), once it has caught up."""
    shown = sampled(lagging(falling, lag_s), until_s=4.0, period_s=0.1)
    assert followed(shown, lag_s).level == pytest.approx(falling(3.9), abs=0.005)
    assert followed(shown).level == pytest.approx(falling(3.9 - lag_s), abs=0.005)


def test_a_change_of_pace_ends_the_line() -> None:
    def rests(t: float) -> float:
        return 1.0 if t < 3.0 else 1.0 - 0.5 * (t - 3.0)

    pace = followed(sampled(rests, until_s=4.05, period_s=0.1), noise=0.001)
    assert pace.rate_per_s == pytest.approx(-0.5, rel=0.05)


def test_the_noise_is_learnt_whatever_the_movement() -> None:
    found = []
    for seed in range(40):
        track, dice = Track(WAY, 0.0), random.Random(seed)
        for i in range(30):
            track.add((0.1 * i + dice.uniform(-0.02, 0.02), falling(0.1 * i) + dice.gauss(0.0, 0.05)))
        found.append(track.noise(0.0))
    assert sum(found) / len(found) == pytest.approx(0.05, rel=0.25)  # nine bends, neighbours in them alike


def test_before_it_is_known_the_noise_is_taken_for_large() -> None:
    track = Track(WAY, 0.0)
    track.add((0.0, 1.0))
    assert track.noise(0.0) == UNKNOWN_NOISE * WAY


def test_readings_that_come_together_are_one() -> None:
    track = Track(WAY, 0.0)
    assert track.bunched(0.0, 1.0) == [(0.0, 1.0)]
    assert track.bunched(0.01, 0.9) == []
    assert track.bunched(0.02, 5.0) == []  # wild
    ((middle_s, middle),) = track.bunched(0.06, 0.8)
    assert middle_s == pytest.approx(0.09 / 3)
    assert middle == 0.9


def test_the_rest_of_a_bunch_is_not_mixed_with_the_next_one() -> None:
    track = Track(WAY, 0.0)
    for reading in ((0.0, 1.0), (0.0, 0.9), (0.01, 0.7)):
        track.bunched(*reading)
    rest, new = track.bunched(0.4, 0.5)
    assert rest == pytest.approx((0.005, 0.8))
    assert new == (0.4, 0.5)


def test_a_packet_sent_twice_is_no_second_witness() -> None:
    track = Track(WAY, 0.0)
    track.bunched(0.0, 1.0)
    assert track.bunched(0.4, -2.0) == [(0.4, -2.0)]
    assert track.bunched(0.405, -2.0) == []
    assert track.bunched(0.8, 0.9) == [(0.8, 0.9)]


def test_a_quarter_of_a_percent_of_noise_leaves_the_level_within_its_error() -> None:
    """Two standard errors hold the truth in about 95 of 100 (normal distribution)."""
    inside = 0
    for seed in range(300):
        readings = sampled(falling, until_s=2.0, period_s=0.1, sigma=0.02, seed=seed)
        pace = followed(readings, noise=0.02)
        inside += abs(pace.level - falling(pace.at_s)) <= 2.0 * pace.error
    assert 0.90 * 300 <= inside <= 0.99 * 300
