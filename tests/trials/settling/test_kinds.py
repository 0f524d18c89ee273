"""Each kind shows what its name says, and the truth is true."""

import statistics
from collections.abc import Callable
from itertools import pairwise

import pytest

from meterlog.detect import Reason
from meterlog.reading import State
from tests.trials.settling.hand import GRID_S
from tests.trials.settling.kinds import KINDS, NEVER, draw
from tests.trials.settling.trial import Plateau, Trial

SEEDS = range(500, 504)
SETTLING = tuple(kind for kind in KINDS if kind not in NEVER)

every_kind = pytest.mark.parametrize("kind", KINDS)
settling_kinds = pytest.mark.parametrize("kind", SETTLING)


def trials(kind: str) -> list[Trial]:
    return [draw(kind, seed) for seed in SEEDS]


def values(trial: Trial) -> list[float]:
    return [shown.value for shown in trial.shown if shown.value is not None]


def off(trial: Trial, level: float, time_s: float) -> float:
    """Of the response from a level, in tolerances."""
    return abs(trial.response(time_s) - level) / trial.task.tolerance


def over(trial: Trial, plateau: Plateau) -> list[float]:
    """Times every half grid step while it is settled."""
    count = int((plateau.ends_s - plateau.settled_s) / GRID_S * 2.0)
    return [plateau.settled_s + k * GRID_S / 2.0 for k in range(count)]


def test_there_are_many() -> None:
    assert len(SETTLING) >= 22
    assert len(NEVER) >= 6


@every_kind
def test_the_same_seed_draws_the_same_trial(kind: str) -> None:
    one, other = draw(kind, 3), draw(kind, 3)
    assert (one.shown, one.task, one.plateaus) == (other.shown, other.task, other.plateaus)
    assert one.shown != draw(kind, 4).shown


@every_kind
def test_shown_is_in_order_of_time_and_values_agree_with_states(kind: str) -> None:
    for trial in trials(kind):
        assert all(b.time_s >= a.time_s for a, b in pairwise(trial.shown))
        assert all((shown.value is None) == (shown.state is not State.OK) for shown in trial.shown)


@settling_kinds
def test_the_response_stays_in_tolerance_while_a_plateau_is_settled(kind: str) -> None:
    for trial in trials(kind):
        for plateau in trial.plateaus:
            assert max(off(trial, plateau.level, t) for t in over(trial, plateau)) <= 1.0 + 1e-6


@settling_kinds
def test_it_was_outside_just_before_unless_it_began_inside(kind: str) -> None:
    for trial in trials(kind):
        for plateau in trial.plateaus:
            if plateau.settled_s > plateau.begins_s + GRID_S:
                assert off(trial, plateau.level, plateau.settled_s - GRID_S) > 1.0


@settling_kinds
def test_plateaus_last_three_dwells_one_after_another(kind: str) -> None:
    for trial in trials(kind):
        assert trial.plateaus
        assert all(a.ends_s <= b.begins_s for a, b in pairwise(trial.plateaus))
        for plateau in trial.plateaus:
            assert plateau.begins_s <= plateau.settled_s
            assert plateau.ends_s - plateau.settled_s >= 3.0 * trial.task.dwell_s


@settling_kinds
def test_while_settled_the_signal_tends_to_the_plateau(kind: str) -> None:
    for trial in trials(kind):
        for plateau in trial.plateaus:
            assert {trial.tends_to(t) for t in over(trial, plateau)} == {plateau.level}


@settling_kinds
def test_a_plateau_can_be_read(kind: str) -> None:
    """Most of its readings have values, so that a miss is the method's doing."""
    for trial in trials(kind):
        for plateau in trial.plateaus:
            inside = [s for s in trial.shown if plateau.settled_s <= s.time_s <= plateau.ends_s]
            assert len(inside) >= 5
            assert all(shown.state is State.OK for shown in inside)


@pytest.mark.parametrize("kind", NEVER)
def test_what_never_settles_has_a_reason_and_tends_nowhere(kind: str) -> None:
    for trial in trials(kind):
        assert trial.reason is not None
        assert not trial.plateaus
        assert trial.tends_to(10.0) is None


def repeated(trial: Trial) -> bool:
    return any(a == b for a, b in pairwise(trial.shown))


def repeated_late(trial: Trial) -> bool:
    return any(a.value == b.value and 0.0 < b.time_s - a.time_s < 0.01 for a, b in pairwise(trial.shown))


def longest_gap(trial: Trial) -> float:
    """In periods."""
    return max(b.time_s - a.time_s for a, b in pairwise(trial.shown)) / trial.task.period_s


def ranges(trial: Trial) -> int:
    return len({(shown.range_max, shown.resolution) for shown in trial.shown})


def residuals(trial: Trial) -> list[float]:
    """Shown less response, in tolerances."""
    return [
        (shown.value - trial.response(shown.time_s)) / trial.task.tolerance
        for shown in trial.shown
        if shown.value is not None
    ]


def remembered(xs: list[float]) -> float:
    """Correlation of each with the one before."""
    return statistics.correlation(xs[:-1], xs[1:])


def swing(trial: Trial) -> float:
    """Of the response over its second half, in tolerances."""
    end_s = trial.shown[-1].time_s
    course = [trial.response(end_s * (0.5 + k / 2000.0)) for k in range(1000)]
    return (max(course) - min(course)) / trial.task.tolerance


def counts(trial: Trial) -> float:
    """Of the display at full scale."""
    shown = trial.shown[0]
    return (shown.range_max or 0.0) / shown.resolution


def wild_share(trial: Trial) -> float:
    return sum(abs(x) > 2.5 for x in residuals(trial)) / len(trial.shown)


def later_settled(trial: Trial) -> bool:
    return any(plateau.settled_s > plateau.begins_s + GRID_S for plateau in trial.plateaus)


def rings(trial: Trial) -> bool:
    """The response turns back at least twice in the 2 s after the hand has stopped."""
    for plateau in trial.plateaus:
        course = [trial.response(plateau.begins_s + k * GRID_S) for k in range(200)]
        changes = [b - a for a, b in pairwise(course)]
        if sum(a * b < 0.0 for a, b in pairwise(changes)) >= 2:
            return True
    return False


MARKS: dict[str, Callable[[Trial], bool]] = {
    "first_order": later_settled,
    "ringing": rings,
    "slow_ringing": later_settled,
    "warm_up": lambda trial: trial.task.horizon_s >= 9.0,
    "small_steps": lambda trial: all(
        abs(b.level - a.level) <= 12.0 * trial.task.tolerance for a, b in pairwise(trial.plateaus)
    ),
    "low_count_display": lambda trial: 2_000 <= counts(trial) <= 12_001,
    "high_count_display": lambda trial: 20_000 <= counts(trial) <= 100_001,
    "autorange": lambda trial: ranges(trial) == 2 and longest_gap(trial) * trial.task.period_s > 0.5,
    "overload_first": lambda trial: any(shown.state is State.OVERLOAD for shown in trial.shown),
    "filter_told": lambda trial: 0.1 <= trial.task.lag_s <= 1.0,
    "filter_untold": lambda trial: trial.task.lag_s == 0.0,
    "jitter_and_drops": lambda trial: longest_gap(trial) > 1.6,
    "duplicates": lambda trial: repeated(trial) and repeated_late(trial),
    "slow_meter": lambda trial: 0.35 <= trial.task.period_s <= 0.45,
    "fast_meter": lambda trial: trial.task.period_s < 0.03 and remembered(residuals(trial)) > 0.3,
    "polled_too_often": lambda trial: (
        0.5 < sum(a.value == b.value for a, b in pairwise(trial.shown)) / len(trial.shown) < 0.9
    ),
    "glitches": lambda trial: 0.003 < wild_share(trial) < 0.1,
    "flicker_noise": lambda trial: statistics.pstdev(residuals(trial)) < 1.0,
    "slow_beat": lambda trial: swing(trial) > 0.2,
    "noise_floor": lambda trial: 0.25 < statistics.pstdev(residuals(trial)) < 1.1,
    "ramp": lambda trial: swing(trial) > 3.0,
    "hunting": lambda trial: 2.3 <= swing(trial) <= 12.1,
    "too_noisy": lambda trial: statistics.pstdev(residuals(trial)) > 2.0,
    "overload": lambda trial: {shown.state for shown in trial.shown} == {State.OVERLOAD},
    "held_display": lambda trial: {shown.state for shown in trial.shown} == {State.INVALID},
    "few_counts": lambda trial: trial.shown[0].resolution > 2.0 * trial.task.tolerance,
}


@pytest.mark.parametrize("kind", MARKS)
def test_a_kind_has_what_its_name_says(kind: str) -> None:
    """In most of a few draws: where a parameter is drawn small, its mark can be absent."""
    found = [MARKS[kind](trial) for trial in trials(kind)]
    assert sum(found) >= 3, found


def test_a_contact_that_creeps_ends_one_plateau_and_begins_another_without_the_hand() -> None:
    met = [a.ends_s == b.begins_s for t in trials("creeping_contact") for a, b in pairwise(t.plateaus)]
    assert any(met)


def test_a_rest_longer_than_the_dwell_is_what_the_signal_tends_to() -> None:
    """Of halting hands: more levels are tended to than there are plateaus, whose rests are shorter."""
    more = 0
    for trial in trials("halting_hand"):
        seen = {trial.tends_to(k * 0.05) for k in range(int(trial.shown[-1].time_s / 0.05))}
        more += len(seen - {plateau.level for plateau in trial.plateaus})
    assert more > 0


def test_the_reasons_are_as_many_as_the_kinds_that_never_settle() -> None:
    assert {draw(kind, 1).reason for kind in NEVER} == {
        Reason.DRIFTING,
        Reason.OSCILLATING,
        Reason.NOISY,
        Reason.OVERLOAD,
        Reason.HELD,
        Reason.FEW_COUNTS,
    }
