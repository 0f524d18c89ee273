"""The states of a step and of a session, and every way from one to another: the whole table.

A pair that is not in a table is refused (`IllegalAction`) and changes nothing. The diagram in
DEVELOPERS.md is drawn from these tables by `diagram`; a test holds the two together.
"""

from collections.abc import Mapping
from enum import StrEnum
from typing import Any

from meterlog.detect import Motion
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.view import SessionState, StepState


class Signal(StrEnum):
    """What moves a step: the detector's word on the motion, the end of the pattern, the operator."""

    WAIT = "wait"
    MOVE = "move"
    SETTLE = "settle"
    HOLD = "hold"
    FINISH = "finish"
    SKIP = "skip"
    REDO = "redo"


SIGNAL_OF_MOTION = {
    Motion.WAITING: Signal.WAIT,
    Motion.MOVING: Signal.MOVE,
    Motion.SETTLING: Signal.SETTLE,
    Motion.SETTLED: Signal.HOLD,
}

_OPEN = (StepState.WAITING, StepState.MOVING, StepState.SETTLING, StepState.SETTLED)
_MOTIONS = {
    Signal.WAIT: StepState.WAITING,
    Signal.MOVE: StepState.MOVING,
    Signal.SETTLE: StepState.SETTLING,
    Signal.HOLD: StepState.SETTLED,
}

STEP_TABLE: dict[tuple[StepState, Signal], StepState] = {
    **{(state, signal): after for state in _OPEN for signal, after in _MOTIONS.items()},
    **{(state, Signal.FINISH): StepState.DONE for state in _OPEN},
    **{(state, Signal.SKIP): StepState.SKIPPED for state in _OPEN},
    **{(state, Signal.REDO): StepState.WAITING for state in StepState},
}


class Command(StrEnum):
    """What moves a session."""

    PAUSE = "pause"
    RESUME = "resume"
    CLOSE = "close"


SESSION_TABLE: dict[tuple[SessionState, Command], SessionState] = {
    (SessionState.RUNNING, Command.PAUSE): SessionState.PAUSED,
    (SessionState.PAUSED, Command.RESUME): SessionState.RUNNING,
    (SessionState.RUNNING, Command.CLOSE): SessionState.ENDED,
    (SessionState.PAUSED, Command.CLOSE): SessionState.ENDED,
}


def next_step_state(state: StepState, signal: Signal) -> StepState:
    """IllegalAction if a step in `state` cannot take `signal`."""
    try:
        return STEP_TABLE[state, signal]
    except KeyError:
        raise IllegalAction(f"a step that is {state} cannot {signal}") from None


def next_session_state(state: SessionState, command: Command) -> SessionState:
    """IllegalAction if a session in `state` cannot take `command`."""
    try:
        return SESSION_TABLE[state, command]
    except KeyError:
        raise IllegalAction(f"a session that is {state} cannot {command}") from None


def diagram() -> str:
    """Both tables as a Mermaid state diagram, one arrow for each pair of states."""
    lines = ["stateDiagram-v2"]
    tables: tuple[Mapping[Any, StrEnum], ...] = (STEP_TABLE, SESSION_TABLE)
    for table in tables:
        arrows: dict[tuple[str, str], list[str]] = {}
        for (before, signal), after in table.items():
            if before != after:
                arrows.setdefault((before, after), []).append(signal)
        lines += [f"    {a} --> {b}: {', '.join(signals)}" for (a, b), signals in arrows.items()]
    return "\n".join(lines)
