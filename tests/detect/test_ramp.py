"""A level that goes evenly on, told from a tail, from noise and from trifles. Invented numbers."""

import math
import random

import pytest

from meterlog.detect.ramp import goes_on
from meterlog.detect.sums import Line, Sums

DWELL_S, TOLERANCE = 1.2, 1.0


def line_through(points: list[tuple[float, float]]) -> Line:
    sums = Sums(*points[0])
    mark = sums.start(*points[0])
    for point in points[1:]:
        sums.add(*point)
    return sums.line_since(mark)


def judged(points: list[tuple[float, float]], count: float = 0.0) -> bool:
    last_s = points[-1][0]
    short = line_through([point for point in points if point[0] >= last_s - DWELL_S])
    return goes_on(line_through(points), short, TOLERANCE, count)


TIMES = [0.1 * i for i in range(41)]


@pytest.mark.parametrize("rate", [0.5, -0.5, 3.0])
def test_a_ramp_goes_on_whatever_its_noise(rate: float) -> None:
    dice = random.Random(1)
    for sigma in (0.0, 0.1, 0.3):
        assert judged([(t, rate * t + dice.gauss(0.0, sigma)) for t in TIMES]), sigma


def test_one_that_travels_less_than_half_the_tolerance_does_not_matter() -> None:
    assert not judged([(t, 0.1 * t) for t in TIMES])


def test_a_tail_bends() -> None:
    assert not judged([(t, 4.0 * math.exp(-t / 1.0)) for t in TIMES])


def test_noise_is_no_ramp() -> None:
    found = 0
    for seed in range(200):
        dice = random.Random(seed)
        found += judged([(t, dice.gauss(0.0, 1.0)) for t in TIMES])
    assert found <= 4  # three standard errors: 0.3 %, and the slope must travel half a tolerance as well


def test_two_counts_of_a_coarse_display_are_no_ramp() -> None:
    """From one count to the next: the step of the display, not of the level."""
    assert not judged([(t, 1.0 if t > 2.0 else 0.0) for t in TIMES[16:26]], count=1.0)


def test_readings_that_lie_close_by_luck_hide_no_ramp() -> None:
    dice = random.Random(2)
    ramp = [(t, t + dice.gauss(0.0, 0.3)) for t in TIMES[:-6]]
    lucky = [(t, t) for t in TIMES[-6:]]
    line = line_through([*ramp, *lucky])
    assert goes_on(line, line_through(lucky), TOLERANCE, 0.0)
