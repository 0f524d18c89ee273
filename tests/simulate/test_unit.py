"""Trimmers and controls."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.simulate.errors import SimulateError
from meterlog.simulate.unit import Choice, Dial, Switch, Trimmer, TrimmerPlan

TURNS = st.lists(st.floats(-1.5, 1.5), max_size=30)


def _turned(trimmer: Trimmer, turns: list[float]) -> Trimmer:
    for by in turns:
        trimmer = trimmer.turned(by)
    return trimmer


@given(turns=TURNS, start=st.floats(0, 1), slack=st.floats(0, 0.05))
def test_wiper_stays_on_the_travel_and_within_the_slack(
    turns: list[float], start: float, slack: float
) -> None:
    trimmer = _turned(TrimmerPlan(hint="", start=start, slack=slack).fresh(), turns)
    assert 0.0 <= trimmer.shaft <= 1.0
    assert 0.0 <= trimmer.wiper <= 1.0
    assert abs(trimmer.shaft - trimmer.wiper) <= slack / 2 + 1e-12


def test_a_reversal_moves_nothing_until_the_slack_is_taken_up() -> None:
    forward = TrimmerPlan(hint="", start=0.5, slack=0.004).fresh().turned(0.1)
    assert forward.turned(-0.003).wiper == forward.wiper
    assert forward.turned(-0.006).wiper == pytest.approx(forward.wiper - 0.002)


@pytest.mark.parametrize(
    ("control", "good", "bad"),
    [
        (Choice("a", ("a", "b")), ["a", "b"], ["c", True, 1, None]),
        (Switch(start=False), [True, False], [0, 1, "on", None]),
        (Dial(0.0, -10.0, 10.0, "dBu"), [-10, 0, 9.5], [10.1, "3", True, None, float("nan"), float("inf")]),
    ],
)
def test_a_control_takes_its_own_values_only(
    control: Choice | Switch | Dial, good: list[object], bad: list[object]
) -> None:
    for value in good:
        assert control.accept("knob", value) == value
    for value in bad:
        with pytest.raises(SimulateError, match="knob"):
            control.accept("knob", value)
