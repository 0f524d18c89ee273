"""A meter that is asked far faster than it measures. All numbers are invented."""

from collections.abc import Iterator, Sequence
from itertools import pairwise

import pytest

from meterlog.detect import Motion, Settled
from meterlog.detect.intake import Echoes
from meterlog.reading import State
from tests.trials.settling.kinds import BESIDE
from tests.trials.settling.run import OURS, draws, judge, total

ASKED_S, COUNT = 0.027, 0.001
NOISE = (1.000, 1.013, 0.991, 1.006, 0.986, 1.010, 0.996, 1.004, 0.989, 1.012)


def asked(values: Sequence[float], times: Sequence[int]) -> Iterator[tuple[float, float]]:
    """Each value so many times, one reading each 27 ms."""
    at_s = 0.0
    for value, often in zip(values, times, strict=True):
        for _ in range(often):
            yield at_s, value
            at_s += ASKED_S


def counted(values: Sequence[float], times: Sequence[int]) -> list[tuple[float, float]]:
    echoes = Echoes()
    return [(at_s, value) for at_s, value in asked(values, times) if not echoes.again(at_s, value, COUNT)]


def test_each_measurement_counts_once_when_three_have_told_how_long_one_takes() -> None:
    taken = counted(NOISE, [15, 14, 15, 15, 14, 15, 15, 14, 15, 15])
    since_s = 44 * ASKED_S
    assert [value for at_s, value in taken if at_s >= since_s] == list(NOISE[3:])


def test_a_display_that_stands_still_gives_a_reading_for_each_measurement() -> None:
    taken = counted([*NOISE[:5], 1.0], [15, 15, 15, 15, 15, 150])
    at_rest = [at_s for at_s, value in taken if value == 1.0 and at_s > 1.7]
    assert len(at_rest) == 10
    assert all(later - earlier == pytest.approx(15 * ASKED_S) for earlier, later in pairwise(at_rest))
    assert len(counted([*NOISE[:5], 1.0, 1.1, 1.2], [15] * 5 + [150, 15, 15])) == len(taken) + 2, "kept"


@pytest.mark.parametrize(
    "times",
    [
        [15, 40, 22, 9, 31, 18, 50],  # a hand that goes in steps
        [60, 60, 60, 60, 60, 60, 60],  # each 1.6 s: no meter is so slow
    ],
)
def test_a_level_that_stands_now_and_then_is_no_echo(times: list[int]) -> None:
    assert len(counted(NOISE[:7], times)) == sum(times)


def test_a_slow_ramp_of_single_counts_is_no_echo() -> None:
    values = [1.0 + COUNT * step for step in range(8)]
    assert len(counted(values, [15] * 8)) == 120


def test_a_shorter_run_says_that_the_meter_is_faster_after_all() -> None:
    values = [*NOISE[:5], 1.02, 1.05]
    assert len(counted(values, [15, 15, 15, 15, 15, 4, 30])) == 45 + 2 + 1 + 30


def test_a_wild_reading_is_no_witness_for_itself() -> None:
    """Shown 15 times it had passed for a jump, and the level before it was forgotten."""
    detector = Settled(lambda _: 0.05, 0.8)
    values = [*NOISE, 3.0, *NOISE[:5]]
    motions = [
        (at_s, detector.update(at_s, value, State.OK, resolution=COUNT).motion)
        for at_s, value in asked(values, [15] * len(values))
    ]
    while_wild = [motion for at_s, motion in motions if at_s > 10 * 15 * ASKED_S]
    assert set(while_wild) == {Motion.SETTLED}


def test_the_trial_of_such_meters() -> None:
    """Before long runs were known 19 % were missed; an honest meter as slow misses none."""
    found = total(judge([OURS], draws(BESIDE, range(100_000, 100_025)))[OURS.name])
    assert found.false <= 1
    assert found.missed <= 0.06 * found.plateaus
