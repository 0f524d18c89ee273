"""The results: for every step, and every condition or edge of it, as found beside as left."""

from collections import Counter
from collections.abc import Iterator, Sequence

from meterlog.procedure import Pass, PlannedStep, SettledValue, Step, plan_of
from meterlog.procedure.model import Rows
from meterlog.report.condition import was_left_alone
from meterlog.report.corrections import correction_words
from meterlog.report.decision_words import passes_text, risk_text
from meterlog.report.model import Cell, Overall, Row
from meterlog.report.redone_rows import is_redone
from meterlog.report.session import Session
from meterlog.report.shown import shown
from meterlog.report.standing import STANDING_OF, Line, Standing, latest
from meterlog.report.words import aim_as_planned, aim_of_row, aim_of_value, line_text, lines_of


def rows_of(session: Session) -> tuple[Row, ...]:
    """One row for each line of each step that yields a value, in the order of the procedure."""
    steps = [step for step in session.procedure.steps if step.yields]
    return tuple(row for step in steps for row in _step_rows(session, step))


def as_found(session: Session) -> Overall:
    return _overall(session, [_found_place(session, step) for step in session.procedure.steps])


def as_left(session: Session) -> Overall:
    """Of a procedure without a trimmer: nothing was changed, so it was left as found."""
    places = [_left_place(session, step) for step in session.procedure.steps]
    if any(place is not None for place in places):
        return _overall(session, places)
    return Overall(as_found(session).standing, "No trimmer in this procedure: left as found, untouched.")


def _found_place(session: Session, step: Step) -> int | None:
    return _place(session, step, Pass.AS_FOUND)


def _left_place(session: Session, step: Step) -> int | None:
    """Of a step that is not looked at as left the adjustment itself is the result."""
    return _place(session, step, Pass.AS_LEFT if Pass.AS_LEFT in step.passes else Pass.ADJUST)


def _place(session: Session, step: Step, pass_: Pass) -> int | None:
    return next((p.place for p in _valued_plan(session) if p.step.id == step.id and p.pass_ is pass_), None)


def _valued_plan(session: Session) -> list[PlannedStep]:
    return [planned for planned in plan_of(session.procedure) if planned.step.yields]


def _step_rows(session: Session, step: Step) -> Iterator[Row]:
    found_place, left_place = _found_place(session, step), _left_place(session, step)
    for condition, line in lines_of(step):
        found, left = (_result(session, place, condition, line) for place in (found_place, left_place))
        # What the adjustment aimed at counts before what could be aimed at as found.
        aiming = next((value for value in (left, found) if value and value.target is not None), None)
        target, window = _aim(session, step, condition, line, aiming)
        yield Row(
            title=step.title,
            line=line_text(step, condition, line),
            target=target,
            window=window,
            found=_cell(session, found_place, found),
            left=_cell(session, left_place, left),
            left_alone=was_left_alone(session, step) and session.header.ended is not None,
        )


def left_values(session: Session) -> dict[tuple[str, str, str], SettledValue]:
    """What the unit was left at, by step, title and line of each row; as found where nothing is turned."""
    found: dict[tuple[str, str, str], SettledValue] = {}
    for step in (one for one in session.procedure.steps if one.yields):
        left, first = _left_place(session, step), _found_place(session, step)
        for condition, line in lines_of(step):
            value = _result(session, first if left is None else left, condition, line)
            if value is not None:
                found[step.id, step.title, line_text(step, condition, line)] = value
    return found


def _result(session: Session, place: int | None, condition: str, line: Line) -> SettledValue | None:
    value = None if place is None else latest(session.course.counting(place), condition, line)
    return None if value is None or is_redone(session, value) else value


def _aim(
    session: Session, step: Step, condition: str, line: Line, aiming: SettledValue | None
) -> tuple[str, str]:
    if isinstance(step, Rows):
        return aim_of_row(session, step, condition)
    if aiming is None:
        return aim_as_planned(session, step, condition, line)
    scale = session.scale(aiming)
    return aim_of_value(shown(aiming, scale), scale.bracket)


def _cell(session: Session, place: int | None, value: SettledValue | None) -> Cell:
    if value is not None:
        text = shown(value, session.scale(value))
        return Cell(
            STANDING_OF[value.verdict],
            text,
            value.number,
            value.coverage_factor,
            about=value.about,
            risk=risk_text(value),
            corrected=correction_words(session, value),
            passes=passes_text(value, session.procedure.rule, session.scale(value)),
        )
    standing = Standing.NONE if place is None else session.course.standing(place)
    if place is None:
        return Cell(Standing.NONE)
    ending = session.course.ending(place)
    if standing in (Standing.NOT_DONE, Standing.SKIPPED):
        return Cell(standing, reason=ending.reason if ending else "")
    if ending and isinstance(session.step(ending.step), Rows):  # a table that has ended left this row out
        return Cell(Standing.SKIPPED, reason=ending.reason)
    return Cell(Standing.NONE)  # this line of the step does not exist in this pass


def _overall(session: Session, places: Sequence[int | None]) -> Overall:
    """A failure fails the pass; a step skipped or not done leaves it incomplete, however good the rest."""
    counts = Counter(session.course.standing(place) for place in places if place is not None)
    for decisive, word in _DECISIVE:
        if counts[decisive]:
            return Overall(word, _counted(counts))
    return Overall(Standing.NOT_JUDGED, _counted(counts))


_DECISIVE = (
    (Standing.FAIL, Standing.FAIL),
    (Standing.CONDITIONAL_FAIL, Standing.CONDITIONAL_FAIL),
    (Standing.NOT_DONE, Standing.INCOMPLETE),
    (Standing.SKIPPED, Standing.INCOMPLETE),
    (Standing.CONDITIONAL_PASS, Standing.CONDITIONAL_PASS),
    (Standing.PASS, Standing.PASS),
)


def _counted(counts: Counter[Standing]) -> str:
    parts = [f"{counts[standing]} {standing}" for standing in Standing if counts[standing]]
    return f"Steps: {', '.join(parts)}." if parts else "No step of this pass yields a value."
