"""The tables: complete where they must be, and refusing everything else without a change."""

import itertools
from pathlib import Path

import pytest

from meterlog.procedure import IllegalAction, SessionState, StepState
from meterlog.procedure.states import (
    SESSION_TABLE,
    STEP_TABLE,
    Command,
    Signal,
    diagram,
    next_session_state,
    next_step_state,
)

OPEN = {StepState.WAITING, StepState.MOVING, StepState.SETTLING, StepState.SETTLED}


@pytest.mark.parametrize(("state", "signal"), list(itertools.product(StepState, Signal)))
def test_open_steps_take_every_signal_and_closed_ones_only_a_redo(state: StepState, signal: Signal) -> None:
    if state in OPEN or signal is Signal.REDO:
        assert next_step_state(state, signal) is STEP_TABLE[state, signal]
    else:
        with pytest.raises(IllegalAction, match=str(state)):
            next_step_state(state, signal)


@pytest.mark.parametrize(("state", "command"), list(itertools.product(SessionState, Command)))
def test_session_commands(state: SessionState, command: Command) -> None:
    if (state, command) in SESSION_TABLE:
        assert next_session_state(state, command) is SESSION_TABLE[state, command]
    else:
        with pytest.raises(IllegalAction, match=str(command)):
            next_session_state(state, command)


def test_the_manual_shows_these_tables() -> None:
    assert diagram() in Path("DEVELOPERS.md").read_text(encoding="utf-8")
