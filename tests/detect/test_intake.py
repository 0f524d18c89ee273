"""Order, gaps and wild readings, before any detector looks at a value."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.detect.intake import Gate, Guard, Intake
from meterlog.reading import State


def sort(gate: Gate, time_s: float, value: float | None = 1.0, range_max: float | None = None) -> Intake:
    return gate.sort(time_s, value, State.BLANK if value is None else State.OK, range_max)


def test_the_first_value_is_fresh_and_the_next_follow() -> None:
    gate = Gate()
    assert [sort(gate, t) for t in (0.0, 0.4, 0.8)] == [Intake.FRESH, Intake.FOLLOWING, Intake.FOLLOWING]


def test_duplicates_and_late_readings_are_ignored() -> None:
    gate = Gate()
    sort(gate, 1.0)
    assert sort(gate, 1.0) is Intake.IGNORED
    assert sort(gate, 0.5) is Intake.IGNORED
    assert sort(gate, 1.4) is Intake.FOLLOWING


def test_after_a_reading_without_a_value_the_next_is_fresh() -> None:
    gate = Gate()
    sort(gate, 0.0)
    assert sort(gate, 0.4, None) is Intake.BROKEN
    assert sort(gate, 0.8) is Intake.FRESH


def test_another_range_is_fresh() -> None:
    gate = Gate()
    sort(gate, 0.0, range_max=2.0)
    assert sort(gate, 0.4, range_max=20.0) is Intake.FRESH
    assert sort(gate, 0.8, range_max=20.0) is Intake.FOLLOWING


def test_more_than_three_learnt_periods_are_a_gap() -> None:
    gate = Gate()
    for i in range(20):
        sort(gate, 0.4 * i)
    assert gate.period_s == pytest.approx(0.4)
    assert sort(gate, 7.6 + 1.19) is Intake.FOLLOWING
    assert sort(gate, 8.79 + 2.0) is Intake.FRESH


def test_readings_that_come_in_bunches_are_soon_no_gaps() -> None:
    """Five at once every two seconds, dated 20 ms apart."""
    gate = Gate()
    seen = [sort(gate, 2.0 * bunch + 0.02 * i) for bunch in range(60) for i in range(5)]
    assert Intake.FRESH in seen
    assert gate.period_s is not None
    assert gate.period_s > 0.02


@pytest.mark.parametrize("period_s", [0.0, -1.0, math.nan])
def test_a_period_that_is_none_is_refused(period_s: float) -> None:
    with pytest.raises(ValueError, match="reading_period_s"):
        Gate(period_s)


def passed(values: list[float], limit: float = 1.0) -> list[float]:
    guard = Guard()
    return [x for t, v in enumerate(values) for _, x in guard.pass_on(float(t), v, limit)]


@pytest.mark.parametrize(
    ("values", "expected"),
    [
        ([5.0, 5.0, 9.0, 5.0], [5.0, 5.0, 5.0]),  # goes back: wild
        ([5.0, 5.0, 9.0, 9.0], [5.0, 5.0, 9.0, 9.0]),  # agrees: believed
        ([5.0, 5.0, 7.0, 9.0], [5.0, 5.0, 7.0, 9.0]),  # goes on: a move
        ([9.0, 5.0, 5.0], [5.0, 5.0]),  # the first alone has nothing to lean on
        ([5.0, 5.0, 0.0, 6.5, 8.0], [5.0, 5.0, 6.5, 8.0]),  # wild while the level moves
        ([5.0, 5.0, 9.0, 1.0, 5.0], [5.0, 5.0, 5.0]),  # two wild ones that contradict each other
        ([5.0], []),
    ],
)
def test_a_reading_alone_waits_for_its_successor(values: list[float], expected: list[float]) -> None:
    assert passed(values) == expected


def test_noise_is_not_taken_for_wild_readings_once_the_usual_change_is_known() -> None:
    values = [0.0, 3.0, 1.0, 4.0, 0.0, 2.0, 5.0, 1.0, 3.0, 0.0, 4.0, 2.0] * 3
    assert passed(values, limit=0.1)[-30:] == values[-30:]


@settings(deadline=None)
@given(st.lists(st.floats(-100.0, 100.0), max_size=50))
def test_what_is_passed_on_was_read_in_that_order_and_once(values: list[float]) -> None:
    guard = Guard()
    times = [t for i, x in enumerate(values) for t, _ in guard.pass_on(float(i), x, 1.0)]
    assert times == sorted(set(times))


def test_reset_forgets_the_usual_change_too() -> None:
    guard = Guard()
    for i in range(10):
        guard.pass_on(float(i), 10.0 * (i % 2), 1.0)
    guard.reset()
    assert guard.usual_change == 0.0
    assert guard.pass_on(20.0, 5.0, 1.0) == ()


def test_a_sweep_met_in_its_middle_is_believed_at_its_third_reading() -> None:
    """On a quiet display every step is far beyond the limit, and none is near the one before."""
    guard = Guard()
    passed = [guard.pass_on(0.4 * i, 10.0 - 1.0 * i, 0.1) for i in range(4)]
    assert passed[:2] == [(), ()]
    assert passed[2] == ((0.4, 9.0), (0.8, 8.0))
    assert guard.wild == 0


def test_wild_ones_at_the_beginning_are_no_sweep() -> None:
    guard = Guard()
    passed = [guard.pass_on(0.4 * i, x, 0.1) for i, x in enumerate([500.0, 10.0, 480.0, 10.0, 10.0])]
    assert passed[:4] == [(), (), (), ()]
    assert passed[4] == ((0.4 * 3, 10.0), (0.4 * 4, 10.0))
