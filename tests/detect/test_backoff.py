"""Back-off from a known peak. Levels in volts, 3 dB below 1 V: 0.708 V. Invented sweeps with known truth."""

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.detect import BackOff, Course, Fall
from meterlog.reading import State
from tests.detect.signals import Readings, feed, lagging, sampled

PEAK, TARGET = 1.0, 0.708
RATE = 0.1


def falling(t: float) -> float:
    """At the peak for 2 s, then down evenly."""
    return PEAK - RATE * max(0.0, t - 2.0)


REACHED_S = 2.0 + (PEAK - TARGET) / RATE


def announced(verdicts: list[tuple[float, Fall]]) -> tuple[float, Fall]:
    return next((t, v) for t, v in verdicts if v.course is Course.PASSED)


def test_the_moment_is_told_between_the_readings() -> None:
    at_s, fall = announced(feed(BackOff(PEAK, TARGET), sampled(falling, until_s=10.0)))
    assert fall.reached_s == pytest.approx(REACHED_S, abs=0.01)
    assert abs(at_s - REACHED_S) <= 0.2 + 1e-9  # at the nearest reading; they come every 0.4 s


def test_remaining_and_rate_on_the_way() -> None:
    verdicts = feed(BackOff(PEAK, TARGET), sampled(falling, until_s=10.0))
    t, fall = next((t, v) for t, v in verdicts if t > 4.0)
    assert fall.course is Course.APPROACHING
    assert fall.present == pytest.approx(falling(t))
    assert fall.remaining == pytest.approx(falling(t) - TARGET)
    assert fall.rate_per_s == pytest.approx(RATE)


def test_slow_down_comes_a_reaction_time_and_a_reading_ahead() -> None:
    verdicts = feed(BackOff(PEAK, TARGET, reaction_s=0.5), sampled(falling, until_s=10.0, period_s=0.1))
    warned = [t for t, v in verdicts if v.slow_down]
    assert warned[0] == pytest.approx(REACHED_S - 0.6, abs=0.11)
    assert all(t < REACHED_S + 0.1 for t in warned)


def test_overshoot_is_how_far_it_has_been_past_the_target() -> None:
    def there_and_back(t: float) -> float:
        return max(falling(t), 0.65) if t < 9.0 else min(TARGET, 0.65 + 0.1 * (t - 9.0))

    last = feed(BackOff(PEAK, TARGET), sampled(there_and_back, until_s=12.0, period_s=0.2))[-1][1]
    assert last.overshoot == pytest.approx(TARGET - 0.65, abs=0.03)
    assert last.remaining == pytest.approx(0.0, abs=0.005)
    assert last.course is Course.PASSED


def test_a_target_above_is_a_rise() -> None:
    up = [(t, -x) for t, x in sampled(falling, until_s=10.0, sigma=0.002)]
    down = sampled(falling, until_s=10.0, sigma=0.002)
    for (_, a), (_, b) in zip(
        feed(BackOff(PEAK, TARGET), down), feed(BackOff(-PEAK, -TARGET), up), strict=True
    ):
        assert (a.course, a.remaining, a.reached_s, a.overshoot) == (
            b.course,
            b.remaining,
            b.reached_s,
            b.overshoot,
        )


@pytest.mark.parametrize("lag_s", [0.2, 0.5])
def test_the_meters_lag_is_taken_into_account(lag_s: float) -> None:
    shown = sampled(lagging(falling, lag_s), until_s=10.0, period_s=0.1)
    known, unknown = (
        announced(feed(BackOff(PEAK, TARGET, lag_s=lag), shown))[1].reached_s for lag in (lag_s, 0.0)
    )
    assert known == pytest.approx(REACHED_S, abs=0.05)
    assert unknown == pytest.approx(REACHED_S + lag_s, abs=0.05)


@pytest.mark.parametrize("place", [0, 2, 8, 11])
def test_one_wild_reading_decides_nothing(place: int) -> None:
    before_target = [(t, x) for t, x in sampled(falling, until_s=REACHED_S - 0.3)]
    wild = [(t, 0.1 if i == place else x) for i, (t, x) in enumerate(before_target)]
    assert all(v.course is not Course.PASSED for _, v in feed(BackOff(PEAK, TARGET), wild))


def test_waiting_and_overload_say_nothing() -> None:
    detector = BackOff(PEAK, TARGET)
    assert detector.update(0.0, None, State.OVERLOAD) == Fall(course=Course.WAITING, target=TARGET)
    assert detector.update(0.5, PEAK, State.OK).course is Course.WAITING


def test_a_gap_begins_the_line_anew_but_keeps_what_was_reached() -> None:
    detector = BackOff(PEAK, TARGET)
    feed(detector, sampled(falling, until_s=7.0))
    reached_s = detector.update(7.0, falling(7.0), State.OK).reached_s
    assert reached_s is not None
    assert detector.update(30.0, 0.9, State.OK).reached_s == reached_s
    detector.reset()
    assert detector.update(31.0, 0.9, State.OK).reached_s is None


def noisy_fall(seed: int) -> tuple[Readings, float, float]:
    """A sweep with one pause, its speed in parts of the way per second, and when it gets there."""
    draw = random.Random(seed)
    speed, pause_at, pause_s = draw.uniform(0.07, 0.5), draw.uniform(0.1, 0.9), draw.uniform(0.5, 2.0)

    def remaining(t: float) -> float:
        moved = speed * max(0.0, t - 1.0)
        return 1.0 - min(moved, max(pause_at, moved - speed * pause_s))

    reached_s = 1.0 + 1.0 / speed + pause_s
    period_s = draw.choice([0.1, 0.125, 0.4])
    readings = sampled(remaining, until_s=reached_s + 4.0, period_s=period_s, sigma=0.02, seed=seed)
    return readings, speed, reached_s


def test_few_early_and_late_announcements_over_many_noisy_sweeps() -> None:
    """Noise of 2 % of the way; error is the true level's distance from the target at the announcement."""
    errors = []
    for seed in range(200):
        readings, speed, reached_s = noisy_fall(seed)
        at_s, _ = announced(feed(BackOff(1.0, 0.0), readings))
        errors.append(speed * (at_s - reached_s))
    assert sum(e < -0.25 for e in errors) <= 2
    assert sum(e > 0.25 for e in errors) <= 4
    assert math.fsum(abs(e) for e in errors) / len(errors) < 0.08


@settings(deadline=None)
@given(st.lists(st.floats(0.75, 1.0), max_size=40))
def test_levels_that_stay_clear_of_the_target_by_more_than_they_scatter_never_pass(
    levels: list[float],
) -> None:
    """Steady: every reading on the near side and no trend beyond: the line must not be carried past."""
    smooth = sorted(levels, reverse=True)
    steady = [x for x in smooth for _ in range(4)]
    verdicts = feed(BackOff(1.0, 0.2), [(0.25 * i, x) for i, x in enumerate(steady)])
    assert all(v.overshoot >= 0.0 for _, v in verdicts)
    assert all(v.course is not Course.PASSED for _, v in verdicts)


@pytest.mark.parametrize(("peak", "target"), [(1.0, 1.0), (math.nan, 0.0), (1.0, math.inf)])
def test_levels_that_make_no_way_are_refused(peak: float, target: float) -> None:
    with pytest.raises(ValueError, match="two different levels"):
        BackOff(peak, target)


def test_negative_times_are_refused() -> None:
    with pytest.raises(ValueError, match="reaction_s is -1"):
        BackOff(1.0, 0.0, reaction_s=-1.0)


def test_two_near_readings_beyond_the_target_are_enough_after_a_jump() -> None:
    """The meter changed its range on the way and showed nothing for a while."""
    still = [(0.4 * i, PEAK) for i in range(5)]
    detector = BackOff(PEAK, TARGET)
    verdicts = feed(detector, [*still, (3.6, 0.62), (4.0, 0.61)])
    assert [v.course is Course.PASSED for _, v in verdicts[-2:]] == [False, True]
