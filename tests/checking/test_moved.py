"""Two meters and one reference: which of the three moved. Made up: uncertainties of 0.08 V, changes of 0.5 V.

What each mover does to the differences is common practice; see tests/accuracy/drift/test_which.py.
"""

from datetime import date

import pytest

from meterlog.accuracy.drift import Moved
from meterlog.checking.errors import CheckError
from meterlog.checking.moved import compared
from meterlog.checking.said import moved_words
from meterlog.records import MeterCheck
from tests.checking.made import check


def two_days(a: float, b: float, first: float = 0.0) -> list[MeterCheck]:
    """Both meters on the first day and a week later, with these changes."""
    return [check(0, first), check(0, 0.1, meter="B"), check(7, first + a), check(7, 0.1 + b, meter="B")]


@pytest.mark.parametrize(
    ("a", "b", "moved"),
    [
        (0.0, 0.05, Moved.NOTHING),
        (0.5, 0.0, Moved.A),
        (0.0, -0.5, Moved.B),
        (0.5, 0.5, Moved.REFERENCE),
        (0.5, -0.5, Moved.REPEAT),
    ],
)
def test_which_of_three(a: float, b: float, moved: Moved) -> None:
    (found,) = compared(two_days(a, b), "A", "B")
    assert found.moved is moved


def test_in_words() -> None:
    (found,) = compared(two_days(0.5, 0.0), "A", "B")
    words = moved_words(found)
    assert words.startswith("dc 10 V, 2026-01-05 to 2026-01-12: A moved (A less source ")
    assert "B less source" in words
    (found,) = compared(two_days(0.5, 0.5), "A", "B")
    assert "the reference moved, or the temperature" in moved_words(found)


def test_the_uncertainty_is_that_of_both_indications_and_not_of_the_reference() -> None:
    """0.08 V each: twice that squared, under the root; four times for A less B (JCGM 100:2008, 5.1.2)."""
    (found,) = compared(two_days(0.0, 0.0), "A", "B")
    assert found.a.uncertainty == pytest.approx(0.08 * 2**0.5)
    assert found.between.uncertainty == pytest.approx(0.16)


def test_a_meter_that_swings_from_day_to_day_has_not_moved_by_one_more_swing() -> None:
    """Ten days, 0.2 V up and down: standard deviation by the moving range 0.4 / 1.128, twice that of a
    difference 1.003 V."""
    swinging = [check(n, 0.2 * (-1) ** n) for n in range(11)] + [check(n, 0.1, meter="B") for n in range(11)]
    (found,) = compared(swinging, "A", "B")
    assert found.a.now - found.a.before == pytest.approx(0.4)
    assert found.a.uncertainty == pytest.approx(2 * 2**0.5 * 0.4 / 1.128)
    assert found.moved is Moved.NOTHING


def test_a_slow_drift_shows_since_a_day() -> None:
    drifting = [check(7 * n, 0.1 * n) for n in range(7)] + [check(7 * n, 0.1, meter="B") for n in range(7)]
    (before,) = compared(drifting, "A", "B")
    (since,) = compared(drifting, "A", "B", since=date(2026, 1, 1))
    assert (before.moved, since.moved) == (Moved.NOTHING, Moved.A)
    assert since.before.day == date(2026, 1, 5)


def test_what_cannot_be_compared() -> None:
    apart = [check(0, 0.0), check(7, 0.0), check(0, 0.0, meter="B", reference="another")]
    for checks in (apart, two_days(0.0, 0.0)[:2], []):
        with pytest.raises(CheckError, match="'A' and 'B' were not both checked on two days"):
            compared(checks, "A", "B")
