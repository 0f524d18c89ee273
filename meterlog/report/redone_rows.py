"""Rows of a table that were to be taken again: what they came to before is no result, taken again or not."""

from meterlog.procedure import Acted, ActionKind, SettledValue
from meterlog.procedure.model import Rows
from meterlog.report.session import Session


def is_redone(session: Session, value: SettledValue) -> bool:
    """Whether the row of this value was redone after it, itself or with its reference."""
    step, ending = session.step(value.step), session.course.ending(value.place)
    if not isinstance(step, Rows) or ending is None:
        return False
    redos = [
        action
        for action in session.course.actions
        if action.kind is ActionKind.REDO_ROW and value.at_ns <= action.at_ns <= ending.at_ns
    ]
    return any(_row_meant(session, redo) in (value.condition, step.reference_row or "") for redo in redos)


def _row_meant(session: Session, redo: Acted) -> str | None:
    """The row named, or else the one done last; None if that was left out and so has no value."""
    if redo.text.strip():
        return redo.text.strip()
    taken = [(value.at_ns, value.condition) for value in session.course.values]
    skips = [action.at_ns for action in session.course.actions if action.kind is ActionKind.SKIP_ROW]
    done: list[tuple[int, str | None]] = [*taken, *((at_ns, None) for at_ns in skips)]
    before = [one for one in done if one[0] <= redo.at_ns]
    return max(before, key=lambda one: one[0], default=(0, None))[1]
