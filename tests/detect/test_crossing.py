"""A level gone through. Invented ramps; moments by straight-line interpolation."""

from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.detect import Course, Cross, Crossing
from meterlog.reading import State
from tests.detect.signals import Readings, feed, sampled

UP: Readings = [(float(i), float(i)) for i in range(10)]


def test_the_moment_lies_between_the_readings() -> None:
    verdicts = feed(Crossing(4.25), UP)
    crossed = next((t, v) for t, v in verdicts if v.course is Course.PASSED)
    assert crossed == (6.0, Cross(course=Course.PASSED, at_s=4.25, rising=True, present=6.0))


def test_a_second_reading_beyond_is_needed() -> None:
    verdicts = feed(Crossing(4.25), [*UP[:5], (5.0, 9.0), (6.0, 2.0), (7.0, 2.0)])
    assert all(v.at_s is None for _, v in verdicts)


def test_falling_is_told_from_rising() -> None:
    cross = feed(Crossing(-4.25), [(t, -x) for t, x in UP])[-1][1]
    assert (cross.at_s, cross.rising) == (4.25, False)


@pytest.mark.parametrize(("rising", "expected_s"), [(True, 4.5), (False, 15.5), (None, 15.5)])
def test_only_the_wanted_direction_counts_and_the_latest_is_told(
    rising: bool | None, expected_s: float
) -> None:
    there_and_back = [(float(i), float(min(i, 20 - i))) for i in range(20)]
    assert feed(Crossing(4.5, rising=rising), there_and_back)[-1][1].at_s == expected_s


def test_within_the_hysteresis_nothing_is_crossed() -> None:
    wobble = [(float(i), 4.5 + (0.4 if i % 4 < 2 else -0.4)) for i in range(20)]
    assert feed(Crossing(4.5, lambda _: 0.5), wobble)[-1][1].at_s is None
    assert feed(Crossing(4.5), wobble)[-1][1].at_s is not None


def test_noise_at_the_level_gives_the_middle_of_its_crossings() -> None:
    levels = [1.0, 1.0, 4.4, 4.6, 4.4, 4.6, 8.0, 8.0]
    cross = feed(Crossing(4.5, lambda _: 1.0), [(float(i), x) for i, x in enumerate(levels)])[-1][1]
    assert cross.at_s == pytest.approx((2.5 + 4.5) / 2.0)


def test_a_noisy_ramp_is_crossed_near_its_true_moment() -> None:
    for seed in range(20):
        ramp = sampled(lambda t: t / 10.0, until_s=10.0, period_s=0.1, sigma=0.01, seed=seed)
        cross = feed(Crossing(0.5, lambda _: 0.04, rising=True), ramp)[-1][1]
        assert cross.at_s == pytest.approx(5.0, abs=0.3)


@pytest.mark.parametrize("state", [State.OVERLOAD, State.BLANK])
def test_what_happened_without_a_value_is_not_known(state: State) -> None:
    detector = Crossing(4.5)
    feed(detector, UP[:4])
    detector.update(4.0, None, state)
    assert feed(detector, UP[5:])[-1][1].at_s is None


def test_a_gap_and_a_range_change_forget_the_side() -> None:
    detector = Crossing(4.5)
    feed(detector, UP[:4])
    assert feed(detector, [(50.0, 9.0), (51.0, 9.0)])[-1][1].at_s is None
    ranged = Crossing(4.5)
    feed(ranged, UP[:4])
    assert ranged.update(4.0, 9.0, State.OK, range_max=10.0).at_s is None
    assert ranged.update(5.0, 9.0, State.OK, range_max=10.0).at_s is None


def test_reset_forgets_side_and_crossing() -> None:
    detector = Crossing(4.5)
    feed(detector, UP)
    detector.reset()
    assert detector.update(10.0, 9.0, State.OK) == Cross(course=Course.WAITING, present=9.0)


@settings(deadline=None)
@given(st.lists(st.integers(-3, 3), max_size=60))
def test_a_crossing_has_two_readings_before_and_two_behind_it(levels: list[int]) -> None:
    detector, told = Crossing(0.0), None
    for i, x in enumerate(levels):
        cross = detector.update(float(i), float(x), State.OK)
        if cross.at_s != told:
            told = cross.at_s
            sign = 1 if cross.rising else -1
            assert told is not None
            assert told <= i
            assert all(sign * behind > 0 for behind in levels[i - 1 : i + 1])
            assert any(sign * a < 0 and sign * b < 0 for a, b in pairwise(levels[: i - 1]))
