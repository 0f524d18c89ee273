"""Stages against the closed solutions of their differential equations."""

import math
from itertools import pairwise

import pytest

from tests.trials.settling.hand import GRID_S, Stop, course
from tests.trials.settling.stages import beat, creep, lag, log_creep, ring, two_speeds

STEP = [0.0, *[1.0] * 1000]
TIMES_S = [k * GRID_S for k in range(1001)]


def test_lag_is_an_exponential() -> None:
    got = lag(0.7)(STEP)
    assert got == pytest.approx([1.0 - math.exp(-t / 0.7) for t in TIMES_S])


def test_ring_is_the_step_response_of_an_underdamped_second_order() -> None:
    """1 - e^(-at) (cos wt + a/w sin wt): it starts without a jump and without a slope."""
    a, w = 1.0 / 0.8, 2.0 * math.pi * 1.5
    wanted = [1.0 - math.exp(-a * t) * (math.cos(w * t) + a / w * math.sin(w * t)) for t in TIMES_S]
    assert ring(1.5, 0.8)(STEP)[1:] == pytest.approx(wanted[:-1], abs=1e-9)


def test_two_speeds_ends_with_the_slow_share() -> None:
    got = two_speeds(0.1, 5.0, 0.2)(STEP)
    assert got[500] == pytest.approx(1.0 - 0.2 * math.exp(-5.0 / 5.0), abs=1e-6)


def test_what_is_added() -> None:
    still = [2.0] * 1001
    assert creep(1.0, 3.0, 2.0)(still)[99] == 2.0
    assert creep(1.0, 3.0, 2.0)(still)[300] == pytest.approx(5.0 - 3.0 * math.exp(-1.0))
    assert log_creep(1.0, 9.0, -2.0, 0.5)(still)[900] == pytest.approx(0.0)
    assert max(beat(0.4, 2.0, 0.0)(still)) == pytest.approx(2.4)


def test_a_hand_rests_where_it_stops_and_turns_smoothly() -> None:
    stops = [Stop(0.0, 1.0, 0.0), Stop(2.0, 2.0, 10.0), Stop(3.0, 5.0, 4.0)]
    levels = course(stops)
    assert len(levels) == 501
    assert set(levels[:101]) == {0.0}
    assert levels[150] == pytest.approx(5.0)
    assert levels[200] == pytest.approx(10.0)
    assert set(levels[300:]) == {4.0}
    assert max(abs(b - a) for a, b in pairwise(levels)) < 0.2
