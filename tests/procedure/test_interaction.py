"""Learning how conditions disturb each other. Units here are linear and made up."""

import math
import random
import statistics
from collections.abc import Sequence

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.procedure.patterns.interaction import Interaction, Interplay
from meterlog.procedure.patterns.matrix import Matrix, dot, inverse

COMPUTED_ROUNDS = {0.1: 2, 0.3: 4, 0.5: 7, 0.7: 13, 0.8: 21, 0.9: 44}
"""Rounds of plain alternation for 100:1, the least n with r^n <= 0.01 (calc)."""


class Unit:
    """A linear unit: a move by one trimmer changes every condition by a column of k."""

    def __init__(self, effects: Matrix, errors: Sequence[float], noise: float = 0.0, seed: int = 1) -> None:
        self.effects, self.errors = effects, list(errors)
        self._noise, self._dice = noise, random.Random(seed)

    def seen(self, at: int) -> float:
        return self.errors[at] + self._dice.gauss(0.0, self._noise)

    def leave(self, at: int, goal: float) -> None:
        move = goal - self.seen(at)
        self.errors = [e + row[at] * move for e, row in zip(self.errors, self.effects, strict=True)]


def coupled(r: float, split: float = 1.0) -> Matrix:
    return [[1.0, r / split], [split, 1.0]]


def rounds_until_clean(unit: Unit, *, aim_off: bool, most: int = 200, noise: float = 1e-6) -> int:
    """The rounds until one in which nothing has to be touched, that one not counted."""
    count = len(unit.errors)
    interplay = Interplay(count)
    for number in range(most):
        clean = True
        for at in range(count):
            level = unit.seen(at)
            interplay.came_back(at, level, noise)
            aim = interplay.aim(at) if aim_off else None
            if abs(level) <= 1.0 and not (aim_off and interplay.owes(at)):
                continue
            clean = False
            unit.leave(at, aim or 0.0)
            interplay.left(at, unit.seen(at), noise)
        if clean:
            return number
    return most


@pytest.mark.parametrize(("r", "rounds"), COMPUTED_ROUNDS.items())
def test_plain_rounds_are_as_many_as_computed(r: float, rounds: int) -> None:
    """Recurrence e(n+1) = r e(n): by hand, and as `Unit` plays it from 100 tolerances at B (calc)."""
    error, needed = 1.0, 0
    while error > 0.01 + 1e-12:
        error, needed = error * r, needed + 1
    assert needed == rounds
    unit = Unit(coupled(r), [0.0, 100.0])
    for _ in range(rounds):
        unit.leave(1, 0.0)
        unit.leave(0, 0.0)
    assert abs(unit.errors[1]) <= 1.0 + 1e-9 < abs(unit.errors[1] / r)


@pytest.mark.parametrize(("r", "share"), [(0.5, -1.0), (5.0, 1.25)])
def test_aim_off_is_the_shops_rule(r: float, share: float) -> None:
    """-r e / (1 - r): r 0.5 overshoot by e; r 5 go further wrong by a quarter, the rule for oscillators."""
    interplay = Interplay(2)
    unit = Unit(coupled(r), [0.0, 10.0])
    interplay.came_back(0, 0.0, 1e-6)
    interplay.came_back(1, 10.0, 1e-6)
    unit.leave(1, 0.0)
    interplay.left(1, 0.0, 1e-6)
    interplay.came_back(0, unit.errors[0], 1e-6)
    unit.leave(0, 0.0)
    interplay.left(0, 0.0, 1e-6)
    error = unit.errors[1]
    interplay.came_back(1, error, 1e-6)
    assert interplay.aim(1) == pytest.approx(share * error, rel=0.01)
    found = interplay.interaction(1)
    assert found is not None
    assert found.r == pytest.approx(r, rel=1e-3)


COUPLINGS = st.floats(-0.95, 0.95) | st.floats(1.1, 5.0) | st.floats(-5.0, -1.1)


@settings(max_examples=300, deadline=None)
@given(r=COUPLINGS, split=st.floats(0.2, 5.0), errors=st.tuples(*[st.floats(-100, 100)] * 2))
def test_any_linear_pair_is_set_in_few_rounds(r: float, split: float, errors: tuple[float, float]) -> None:
    assert rounds_until_clean(Unit(coupled(r, split), errors), aim_off=True) <= 6


@settings(max_examples=200, deadline=None)
@given(
    r=st.floats(0.2, 0.8) | st.floats(1.5, 5.0),
    errors=st.tuples(*[st.floats(-30, 30)] * 2),
    seed=st.integers(0, 10**6),
)
def test_noise_costs_a_round_or_two(r: float, errors: tuple[float, float], seed: int) -> None:
    """Of 0.05 tolerances in whatever is seen or left."""
    unit = Unit(coupled(r), errors, noise=0.05, seed=seed)
    assert rounds_until_clean(unit, aim_off=True, noise=0.05) <= 7


@settings(max_examples=200, deadline=None)
@given(
    effects=st.lists(st.floats(-0.3, 0.3), min_size=6, max_size=6),
    errors=st.lists(st.floats(-50, 50), min_size=3, max_size=3),
)
def test_three_conditions_are_set_in_few_rounds(effects: list[float], errors: list[float]) -> None:
    """From 0.45 on three may together nearly cancel, and one in ten thousand takes dozens of rounds."""
    a, b, c, d, e, f = effects
    unit = Unit([[1.0, a, b], [c, 1.0, d], [e, f, 1.0]], errors)
    assert rounds_until_clean(unit, aim_off=True) <= 6


def test_trimmers_that_do_the_same_are_called_dependent() -> None:
    assert Interaction(0.99, 0.01).dependent
    assert not Interaction(0.99, 0.01).usable
    assert not Interaction(0.9, 0.01).dependent


def left_by(believed: float, true: float, share: float) -> float:
    """What comes back of an error of 1 at the first of two conditions with this true r."""
    unit = Unit([[1.0, 1.0], [true, 1.0]], [1.0, 0.0])
    unit.leave(0, -share * believed / (1.0 - believed))
    unit.leave(1, 0.0)
    return unit.errors[0]


@pytest.mark.parametrize(
    ("r", "uncertainty"),
    [(0.3, 0.1), (0.5, 0.2), (0.86, 0.05), (0.86, 0.11), (-0.5, 0.1), (1.5, 0.2), (0.9, 0.4)],
)
def test_of_a_noisy_r_so_much_of_the_aim_off_is_taken_as_leaves_least(r: float, uncertainty: float) -> None:
    """4000 true values of r drawn about the one that is believed, the unit set with each."""
    dice = random.Random(f"noisy {r}")
    drawn = [dice.gauss(r, uncertainty) for _ in range(4000)]

    def left(share: float) -> float:
        return math.sqrt(statistics.mean(left_by(r, true, share) ** 2 for true in drawn))

    found = Interaction(r, uncertainty)
    least = min(left(share / 50) for share in range(51))
    assert left(found.share) <= 1.01 * least
    assert found.usable is (least < 0.9 * left(0.0))


def test_on_which_side_of_one_r_is_must_be_known() -> None:
    """Beyond it the aim-off goes the other way."""
    assert not Interaction(1.3, 0.2).usable
    assert Interaction(1.5, 0.2).usable


def test_what_the_first_rounds_taught_is_not_lost_in_those_that_move_little() -> None:
    """Ten rounds of a tenth of a tolerance tell next to nothing of r."""
    unit, interplay = Unit([[1.0, 0.9], [0.9, 1.0]], [20.0, 15.0]), Interplay(2)
    first = None
    for number in range(12):
        for at in (0, 1):
            interplay.came_back(at, unit.seen(at), 0.1)
            if number < 2 or number % 2:
                unit.leave(at, 0.0 if number < 2 else 0.1)
                interplay.left(at, unit.seen(at), 0.1)
        first = first or interplay.interaction(0)
    last = interplay.interaction(0)
    assert first is not None
    assert last is not None
    assert last.uncertainty < 1.5 * first.uncertainty


def test_what_was_touched_unseen_teaches_nothing() -> None:
    interplay = Interplay(2)
    for at, level in ((0, 5.0), (1, 8.0)):
        interplay.came_back(at, level, 0.01)
        interplay.left(at, 0.0, 0.01)
    interplay.touched_unseen()
    interplay.came_back(0, 90.0, 0.01)
    assert interplay.interaction(0) is None
    assert interplay.aim(0) is None


@given(st.lists(st.floats(-0.3, 0.3), min_size=9, max_size=9))
def test_inverse_is_one(entries: list[float]) -> None:
    """A made-up matrix with a heavy diagonal, so that there is one."""
    matrix = [[entries[3 * i + j] + (i == j) for j in range(3)] for i in range(3)]
    columns = list(zip(*inverse(matrix), strict=True))
    for i, row in enumerate(matrix):
        for j, column in enumerate(columns):
            assert dot(row, list(column)) == pytest.approx(float(i == j), abs=1e-6)
