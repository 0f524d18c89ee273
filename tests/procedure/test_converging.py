"""When rounds are given up; errors are made up."""

from meterlog.accuracy import Verdict
from meterlog.procedure.patterns.converging import Rounds


def after(errors: list[float], aimed: tuple[int, ...] = ()) -> Rounds:
    """Rounds of one condition that came back so far off; in `aimed` it was left beside its target."""
    rounds = Rounds(1, 40)
    for number, error in enumerate(errors, start=1):
        rounds.came_back(error)
        if number in aimed:
            rounds.aimed_off()
        rounds.taken(Verdict.PASS, untouched=False)
        if number < len(errors):
            rounds.again()
    return rounds


def test_four_rounds_no_better_than_the_best_are_enough() -> None:
    assert not after([9.0, 2.0, 2.0, 2.0, 2.0]).hopeless
    assert after([9.0, 2.0, 2.0, 2.0, 2.0, 2.0]).hopeless
    assert not after([9.0, 2.0, 2.0, 2.0, 2.0, 1.8]).hopeless


def test_the_first_round_is_no_measure_for_it_saw_the_unit_as_it_came() -> None:
    assert not after([0.5, 2.0, 2.0, 2.0, 2.0]).hopeless


def test_what_was_left_beside_its_target_on_purpose_does_not_count() -> None:
    assert after([9.0, 2.0, 2.0, 2.0, 2.0, 8.0]).hopeless
    assert not after([9.0, 2.0, 2.0, 2.0, 2.0, 8.0], aimed=(5,)).hopeless
