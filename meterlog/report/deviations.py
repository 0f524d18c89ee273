"""What was done otherwise than the procedure asks, and what it asks that was confirmed."""

from collections.abc import Iterator
from itertools import chain

from meterlog.procedure import Acted, ActionKind, Ending, StepEnded, plan_of
from meterlog.procedure.model import Safety
from meterlog.report.model import Cautions, Deviation
from meterlog.report.session import Session

OVERRIDES = ("Begun all the same: ", "Gone on with all the same: ")
"""How the notes begin that the daemon keeps where a meter is not good enough for a step."""
_WORDS = {
    ActionKind.REDO_ROW: "row taken again",
    ActionKind.SKIP_ROW: "row left out",
    ActionKind.SOURCE_FAILED: "source not set by the bench",
    ActionKind.BREAK_OFF: "session broken off",
    ActionKind.INOPERABLE: "unit called inoperable",
}


def overrides_of(session: Session) -> tuple[str, ...]:
    """Why it was begun, or gone on with, all the same: with meters that are not good enough, or others."""
    return tuple(_override(action) for action in session.course.actions if is_override(action))


def is_override(action: Acted) -> bool:
    said = action.kind is ActionKind.NOTE and action.text.startswith(OVERRIDES)
    return said or action.kind is ActionKind.OTHER_METER


def _override(action: Acted) -> str:
    other = action.kind is ActionKind.OTHER_METER
    return f"Gone on with another meter: {action.text}" if other else action.text


def deviations_of(session: Session) -> tuple[Deviation, ...]:
    """In the order of time."""
    found = chain(_skips(session), _redos(session), _others(session))
    return tuple(sorted(found, key=lambda deviation: deviation.at))


def _skips(session: Session) -> Iterator[Deviation]:
    """An end of the session skips the step at hand: told once, as what it is."""
    early = {
        a.at_ns for a in session.course.actions if a.kind in (ActionKind.BREAK_OFF, ActionKind.INOPERABLE)
    }
    for ending in session.course.endings:
        if ending.ending is Ending.SKIPPED and ending.at_ns not in early:
            yield Deviation(
                session.time(ending.at_ns), "step left out", _where(session, ending.place), ending.reason
            )


def _redos(session: Session) -> Iterator[Deviation]:
    for redo in session.course.redos():
        yield Deviation(session.time(redo.at_ns), "step done again", _where(session, redo.place), redo.reason)


def _others(session: Session) -> Iterator[Deviation]:
    for action in session.course.actions:
        if action.kind in _WORDS:
            where = _where_then(session, action.at_ns)
            yield Deviation(session.time(action.at_ns), _WORDS[action.kind], where, action.text)


def _where(session: Session, place: int) -> str:
    plan = plan_of(session.procedure)
    return f"{plan[place].step.title}, {plan[place].pass_}" if place < len(plan) else ""


def _where_then(session: Session, at_ns: int) -> str:
    """The step at hand: the one that ended next. "" if none did."""
    later = [ending for ending in session.course.endings if ending.at_ns >= at_ns]
    return _where(session, min(later, key=lambda ending: ending.at_ns).place) if later else ""


def cautions_of(session: Session) -> Iterator[Cautions]:
    """The cautions that were confirmed, one by one, before the dangerous part."""
    for planned in plan_of(session.procedure):
        ending = session.course.ending(planned.place)
        if isinstance(planned.step, Safety) and _confirmed(ending):
            assert ending is not None
            title = f"{planned.step.title}, {planned.pass_}"
            yield Cautions(session.time(ending.at_ns), title, tuple(planned.step.confirm))


def _confirmed(ending: StepEnded | None) -> bool:
    return ending is not None and ending.ending is Ending.DONE
