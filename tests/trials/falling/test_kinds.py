"""Invented trials: the truth they come with is the truth, and they can be had again."""

import pytest

from meterlog.reading import State
from tests.trials.falling.kinds import DISTURBED, HANDS, KINDS, METERS, NOT_REACHED, draw
from tests.trials.falling.trial import Trial

SEEDS = range(3)
FINE_S = 0.002

kinds = pytest.mark.parametrize("kind", KINDS)


def gone(trial: Trial, t: float) -> float:
    """Way gone in parts of N."""
    return (trial.level(t) - trial.task.peak) / (trial.task.target - trial.task.peak)


def looks(trial: Trial, until_s: float) -> list[float]:
    return [gone(trial, i * FINE_S) for i in range(int(until_s / FINE_S))]


@kinds
def test_reached_is_when_the_target_is_first_passed(kind: str) -> None:
    for trial in (draw(kind, seed) for seed in SEEDS):
        last_s = trial.shown[-1].time_s
        if trial.reached_s is None:
            assert max(looks(trial, last_s)) <= 1.001
        else:
            assert gone(trial, trial.reached_s) == pytest.approx(1.0, abs=1e-3)
            assert max(looks(trial, trial.reached_s - FINE_S)) <= 1.001


@kinds
def test_the_same_seed_gives_the_same_trial(kind: str) -> None:
    one, again, other = draw(kind, 5), draw(kind, 5), draw(kind, 6)
    assert (one.shown, one.task, one.reached_s) == (again.shown, again.task, again.reached_s)
    assert one.shown != other.shown


@kinds
def test_readings_are_what_the_interface_promises(kind: str) -> None:
    for trial in (draw(kind, seed) for seed in SEEDS):
        assert len(trial.shown) >= 5
        for shown in trial.shown:
            assert (shown.value is None) == (shown.state is not State.OK)
            assert shown.resolution > 0.0
            if shown.value is not None:
                counts = shown.value / shown.resolution
                assert counts == pytest.approx(round(counts), abs=1e-6)


@pytest.mark.parametrize("kind", NOT_REACHED)
def test_what_is_not_to_be_announced_is_never_reached(kind: str) -> None:
    assert all(draw(kind, seed).reached_s is None for seed in range(40))


@pytest.mark.parametrize("kind", [k for k in HANDS | METERS | DISTURBED if k != "stops around"])
def test_all_others_reach_the_target_and_go_on_for_two_seconds(kind: str) -> None:
    for trial in (draw(kind, seed) for seed in range(15)):
        assert trial.reached_s is not None
        assert trial.shown[-1].time_s > trial.reached_s


def test_a_stop_around_the_target_may_be_on_either_side() -> None:
    reached = [draw("stops around", seed).reached_s is not None for seed in range(30)]
    assert any(reached)
    assert not all(reached)


def test_a_fall_goes_down_and_a_rise_goes_up() -> None:
    assert all(t.task.target > t.task.peak for t in (draw("rise from a dip", s) for s in range(10)))
    assert any(t.task.target < t.task.peak for t in (draw("even turning", s) for s in range(10)))


def test_steps_are_from_a_third_of_a_decibel_to_three() -> None:
    ratios = [max(t.task.target / t.task.peak, t.task.peak / t.task.target) for t in map_kinds()]
    assert min(ratios) + 1e-9 >= 10.0 ** (0.3 / 20.0)
    assert max(ratios) - 1e-9 <= 10.0 ** (3.0 / 20.0)


def map_kinds() -> list[Trial]:
    return [draw(kind, 1) for kind in KINDS]


def test_only_the_untold_meter_lags_more_than_its_profile_says() -> None:
    assert all(draw("averaging, untold", seed).task.lag_s == 0.0 for seed in range(10))
    assert all(0.1 <= draw("averaging", seed).task.lag_s <= 1.0 for seed in range(10))


def test_a_kind_there_is_none_of() -> None:
    with pytest.raises(KeyError):
        draw("no such kind", 0)
