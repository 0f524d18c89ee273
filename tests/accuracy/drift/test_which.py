"""Which of three has moved: common practice with one reference and two meters; numbers made up."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy.drift import Change, Moved, which_moved

U = 0.3e-3


def moved(a: float, b: float, reference: float) -> Moved:
    """Two meters on a 10 V reference: what is found when each moved by so many uncertainties."""
    first = (0.8e-3, -0.4e-3)
    now = (first[0] + (a - reference) * U, first[1] + (b - reference) * U)
    between = Change(first[0] - first[1], now[0] - now[1], U)
    return which_moved(Change(first[0], now[0], U), Change(first[1], now[1], U), between)


@pytest.mark.parametrize(
    ("a", "b", "reference", "found"),
    [
        (0, 0, 0, Moved.NOTHING),
        (0.9, 0, 0, Moved.NOTHING),
        (3, 0, 0, Moved.A),
        (-3, 0, 0, Moved.A),
        (0, 3, 0, Moved.B),
        (0, -3, 0, Moved.B),
        (0, 0, 3, Moved.REFERENCE),
        (0.5, 0, -3, Moved.REFERENCE),
        (3, -3, 0, Moved.REPEAT),
        (3, 6, 0, Moved.REPEAT),
        (3, 3, 0, Moved.REFERENCE),
    ],
)
def test_one_alone(a: float, b: float, reference: float, found: Moved) -> None:
    """The last row is what the method cannot tell: both meters with the same drift, or a warm room."""
    assert moved(a, b, reference) is found


def test_all_three_differences_ask_for_a_repeat() -> None:
    changed, still = Change(0.0, 1.0, 0.1), Change(0.0, 0.0, 0.1)
    assert which_moved(changed, changed, changed) is Moved.REPEAT
    for one in ((changed, still, still), (still, changed, still), (still, still, changed)):
        assert which_moved(*one) is Moved.REPEAT, "no single instrument changes one difference alone"


def test_a_change_as_large_as_its_uncertainty_is_explained() -> None:
    assert not Change(0.0, 0.5, 0.5).real
    assert Change(0.0, 0.5, 0.0).real
    with pytest.raises(ValueError, match="uncertainty"):
        _ = Change(0.0, 1.0, -0.1).real


changes = st.builds(Change, st.integers(-9, 9), st.integers(-9, 9), st.integers(0, 5))
SWAPPED = {Moved.A: Moved.B, Moved.B: Moved.A}


@given(changes, changes, changes)
def test_exchanging_the_meters_exchanges_the_answer(a: Change, b: Change, between: Change) -> None:
    """A less B becomes B less A."""
    mirrored = Change(-between.before, -between.now, between.uncertainty)
    found = which_moved(a, b, between)
    assert which_moved(b, a, mirrored) is SWAPPED.get(found, found)


@given(changes, changes, changes, st.sampled_from([0.5, 4.0]), st.integers(-50, 50))
def test_unit_and_offset_do_not_matter(
    a: Change, b: Change, between: Change, factor: float, offset: int
) -> None:
    def other(one: Change) -> Change:
        return Change(offset + factor * one.before, offset + factor * one.now, factor * one.uncertainty)

    assert which_moved(other(a), other(b), other(between)) is which_moved(a, b, between)
