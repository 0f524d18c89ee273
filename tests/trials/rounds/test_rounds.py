"""The trial of rounds: its unit is what it says, and on twelve units aim-off needs fewer rounds."""

from statistics import mean

import pytest

from tests.trials.rounds.pair import LEAST_R, MOST_R, PairBench, unit_of
from tests.trials.rounds.run import Run, run
from tests.trials.rounds.table import table


@pytest.mark.parametrize("seed", range(20))
def test_setting_both_in_turn_leaves_r_of_the_error(seed: int) -> None:
    """r is the product of the two effects (calc), drawn between its limits."""
    unit = unit_of(seed)
    (_, b), (c, _) = unit.effects
    assert b * c == pytest.approx(unit.r)
    assert LEAST_R <= unit.r <= MOST_R


def test_a_trimmer_moves_both_levels_once_its_slack_is_taken_up() -> None:
    unit = unit_of(1)
    bench = PairBench(unit, "test")
    bench.set_up(1)
    bench.turn(0.1 * unit.cases[1].degrees)
    before = bench.errors_db()
    bench.turn(0.05 * unit.cases[1].degrees)
    after = bench.errors_db()
    moved = [two - one for one, two in zip(before, after, strict=True)]
    assert moved[1] == pytest.approx(0.05 * unit.cases[1].degrees * unit.cases[1].db_per_degree)
    assert moved[0] == pytest.approx(unit.effects[0][1] * moved[1])


@pytest.fixture(scope="module")
def runs() -> list[Run]:
    return [run(seed, aim_off=aim_off) for seed in range(12) for aim_off in (True, False)]


def test_all_converge_and_hardly_one_that_passed_is_out(runs: list[Run]) -> None:
    aimed = [one for one in runs if one.aim_off]
    assert all(one.converged for one in aimed)
    assert sum(not one.inside for one in aimed) <= 1, "a value at the edge is accepted as it is"


def test_aim_off_saves_rounds(runs: list[Run]) -> None:
    aimed, plain = (mean(one.rounds for one in runs if one.aim_off is aim) for aim in (True, False))
    assert aimed < plain


def test_the_table_has_a_row_for_each_way_in_each_band(runs: list[Run]) -> None:
    assert table(runs).count("| aim-off |") == table(runs).count("| plain rounds |") >= 2
