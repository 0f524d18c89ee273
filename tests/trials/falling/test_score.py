"""The scoring, proven by methods that know the truth, methods that do not look, and falls made by hand."""

import math

import pytest

from tests.trials.falling import bounds
from tests.trials.falling.contest import trials
from tests.trials.falling.kinds import KINDS, NOT_REACHED, draw
from tests.trials.falling.score import Outcome, by_kind, judge, score
from tests.trials.falling.trial import Task, Trial
from tests.trials.shown import Shown

SOME = list(trials(range(3)))


def fall(reading_period_s: float) -> Trial:
    """From 1 V to 0.9 V in 1 s and on for another 2 s."""
    n = int(3.0 / reading_period_s)
    shown = tuple(Shown(i * reading_period_s, 1.0 - 0.1 * i * reading_period_s) for i in range(n + 1))
    return Trial("by hand", 0, Task(1.0, 0.9, reading_period_s), shown, lambda t: 1.0 - 0.1 * t, 1.0)


class At:
    def __init__(self, at_s: float) -> None:
        self._at_s = at_s

    def update(self, shown: Shown) -> bool:
        return shown.time_s >= self._at_s


@pytest.mark.parametrize(
    ("at_s", "error", "false", "late"),
    [
        (0.5, -0.5, True, False),
        (0.74, -0.26, True, False),
        (0.76, -0.24, False, False),
        (1.0, 0.0, False, False),
        (1.49, 0.49, False, False),
        (1.51, 0.51, False, True),
    ],
)
def test_the_error_is_how_far_past_the_target_in_parts_of_the_way(
    at_s: float, error: float, false: bool, late: bool
) -> None:
    outcome = judge(lambda trial: At(at_s), fall(0.01))
    assert outcome.error == pytest.approx(error, abs=1e-9)
    assert (outcome.false, outcome.late, outcome.missed) == (false, late, False)


def test_a_rise_is_judged_like_a_fall() -> None:
    shown = tuple(Shown(0.1 * i, 1.0 + 0.01 * i) for i in range(30))
    rise = Trial("by hand", 0, Task(1.0, 1.1, 0.1), shown, lambda t: 1.0 + 0.1 * t, 1.0)
    assert judge(lambda trial: At(1.2), rise).error == pytest.approx(0.2)


def test_what_is_never_announced_is_missed_late_and_counts_one() -> None:
    outcome = judge(bounds.deaf, fall(0.1))
    assert (outcome.missed, outcome.late, outcome.false, outcome.distance) == (True, True, False, 1.0)


def test_no_announcement_where_nothing_is_reached_is_right() -> None:
    outcome = judge(bounds.deaf, draw("drift", 0))
    assert (outcome.missed, outcome.late, outcome.false) == (False, False, False)


def test_close_by_is_no_false_alarm_even_if_it_is_never_reached() -> None:
    assert not Outcome("by hand", reached=False, error=-0.2).false
    assert Outcome("by hand", reached=False, error=-0.3).false


def test_shares_and_errors_by_hand() -> None:
    outcomes = [Outcome("a", True, 0.1 * i) for i in range(9)]
    outcomes += [Outcome("a", True, None), Outcome("b", False, -0.9), Outcome("b", False, None)]
    reached = score(outcomes)
    assert (reached.trials, reached.falls) == (12, 10)
    assert reached.false == pytest.approx(1 / 12)
    assert reached.late == pytest.approx(4 / 10)  # 0.6, 0.7, 0.8 and the miss
    assert reached.missed == pytest.approx(1 / 10)
    assert reached.error_90 == pytest.approx(0.8)
    assert reached.error_mean == pytest.approx((3.6 + 1.0) / 10)
    assert {kind: len(own) for kind, own in by_kind(outcomes).items()} == {"a": 10, "b": 2}


def test_without_falls_there_are_no_errors() -> None:
    assert math.isnan(score([Outcome("b", False, None)]).error_mean)


def test_the_clairvoyant_is_never_false_and_never_early() -> None:
    for trial in SOME:
        outcome = judge(bounds.clairvoyant, trial)
        assert not outcome.false
        assert (outcome.error is not None) <= (trial.reached_s is not None)


def test_nobody_is_nearer_than_the_prophet() -> None:
    best = [judge(bounds.prophet, trial) for trial in SOME]
    others = (bounds.clairvoyant, bounds.hasty, bounds.deaf)
    for other in others:
        for outcome, nearest in zip((judge(other, trial) for trial in SOME), best, strict=True):
            assert not nearest.reached or nearest.distance <= outcome.distance + 1e-9


def test_the_hasty_is_false_in_every_trial() -> None:
    assert score([judge(bounds.hasty, trial) for trial in SOME]).false == 1.0


def test_the_deaf_is_never_false_and_misses_every_fall() -> None:
    reached = score([judge(bounds.deaf, trial) for trial in SOME])
    assert (reached.false, reached.missed, reached.late, reached.error_mean) == (0.0, 1.0, 1.0, 1.0)


def test_every_kind_is_judged() -> None:
    kinds = by_kind(judge(bounds.deaf, trial) for trial in SOME)
    assert set(kinds) == set(KINDS) > set(NOT_REACHED)
