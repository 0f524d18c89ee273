"""In what condition the unit is: as found, as left, found-left (inside and left alone) or inoperable.

One place says it, for the head of the report, for its rows and for the exports. It only reads the record:
what was found stays as it was found. Where it cannot be known that a trimmer was left untouched (its step
was skipped half-way, or done again), it is not called so.
"""

from dataclasses import dataclass
from enum import StrEnum

from meterlog.procedure import ActionKind, Ending, Pass, PlannedStep, Step, plan_of
from meterlog.procedure.model import PowerDown
from meterlog.procedure.patterns.one_level import LEFT_ALONE
from meterlog.report.session import Session

_EARLY = (ActionKind.BREAK_OFF, ActionKind.INOPERABLE)


class Condition(StrEnum):
    AS_FOUND = "as found"
    AS_LEFT = "as left"
    FOUND_LEFT = "found-left"
    INOPERABLE = "inoperable"


@dataclass(frozen=True, slots=True)
class UnitCondition:
    """The word, and why it is that."""

    word: Condition
    text: str


def condition_of(session: Session) -> UnitCondition:
    """Of the unit: as found until the first trimmer has been reached, for good if the session ends before."""
    words = _ended_early(session, ActionKind.INOPERABLE)
    if words:
        return UnitCondition(Condition.INOPERABLE, words)
    broken_off = _ended_early(session, ActionKind.BREAK_OFF)
    word, text = _by_touch(session, ended=session.header.ended is not None)
    return UnitCondition(word, f"{text} Broken off: {broken_off}." if broken_off else text)


def was_left_alone(session: Session, step: Step) -> bool:
    """Whether nothing of this step was turned: it was inside as found, or there is no trimmer at all."""
    turning = _turning(session)
    own = [planned for planned in turning if planned.step.id == step.id]
    return not turning or (bool(own) and all(_left_alone(session, planned) for planned in own))


def uncharged_remark(session: Session) -> str:
    """What must be said where a stored charge should have been measured and was not; "" elsewhere."""
    for planned in plan_of(session.procedure):
        if not isinstance(planned.step, PowerDown):
            continue
        ending = session.course.ending(planned.place)
        if ending is None or ending.ending is Ending.SKIPPED:
            why = f": {ending.reason}" if ending and ending.reason else ""
            return f"The stored charge was not measured{why} ({planned.step.title})."
    return ""


def _ended_early(session: Session, kind: ActionKind) -> str:
    """The reason that the operator gave."""
    return next((action.text for action in session.course.actions if action.kind is kind), "")


def _by_touch(session: Session, *, ended: bool) -> tuple[Condition, str]:
    turning = _turning(session)
    touched = [p for p in turning if _reached(session, p) and not _left_alone(session, p)]
    if touched:
        titles = ", ".join(dict.fromkeys(planned.step.title for planned in touched))
        return Condition.AS_LEFT, f"Adjusted, or not known to be untouched: {titles}."
    if not ended:
        return Condition.AS_FOUND, "Nothing has been turned yet."
    if not turning:
        return Condition.FOUND_LEFT, "Untouched: this procedure turns no trimmer."
    if any(not _reached(session, planned) for planned in turning):
        return Condition.AS_FOUND, "Nothing was turned: the session ended before."
    return Condition.FOUND_LEFT, "Untouched: all that could be adjusted was inside as found, and left alone."


def _turning(session: Session) -> list[PlannedStep]:
    plan = plan_of(session.procedure)
    return [planned for planned in plan if planned.pass_ is Pass.ADJUST and planned.step.turns]


def _began_ns(session: Session, planned: PlannedStep) -> int | None:
    """When this place was first at hand: when the one before it first ended, not by an end of the session."""
    early = [action.at_ns for action in session.course.actions if action.kind in _EARLY]
    ends = [ending.at_ns for ending in session.course.endings if ending.place == planned.place - 1]
    ends = [at_ns for at_ns in ends if not early or at_ns < early[0]]
    return min(ends, default=0 if planned.place == 0 else None)


def _reached(session: Session, planned: PlannedStep) -> bool:
    return _began_ns(session, planned) is not None


def _left_alone(session: Session, planned: PlannedStep) -> bool:
    """Ended once, as inside, and nobody went away from it or came back to it by a redo."""
    endings = [ending for ending in session.course.endings if ending.place == planned.place]
    began_ns = _began_ns(session, planned)
    if began_ns is None or not endings or any(e.reason != LEFT_ALONE or e.attempt > 1 for e in endings):
        return False
    first_ns = min(ending.at_ns for ending in endings)
    redos = session.course.redos()
    return not any(redo.place == planned.place or began_ns <= redo.at_ns <= first_ns for redo in redos)
