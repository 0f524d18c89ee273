"""A session's record, put into the order in which a person reads it."""

from collections.abc import Iterator

from meterlog.procedure import ActionKind, GuardTripped, PlannedStep, SettledValue, plan_of
from meterlog.procedure.model import Sign
from meterlog.quantity import show
from meterlog.report.budgets import budgets_of, without_budget
from meterlog.report.condition import condition_of, uncharged_remark
from meterlog.report.curves import charts_of
from meterlog.report.deviations import cautions_of, deviations_of, is_override, overrides_of
from meterlog.report.environment import environment_of, summary_of
from meterlog.report.issue import issued_before
from meterlog.report.meters import meters_of
from meterlog.report.model import Captured, Header, Issue, Note, Report, Signature, StepRun, Trip
from meterlog.report.rows import as_found, as_left, rows_of
from meterlog.report.session import Session
from meterlog.report.shown import shown
from meterlog.report.standing import STANDING_OF, Standing
from meterlog.report.statements import statements_of
from meterlog.report.words import line_of_value

_NOTED = frozenset(
    {
        ActionKind.NOTE,
        ActionKind.INTERRUPTED,
        ActionKind.OTHER_BENCH,
        ActionKind.PAUSE,
        ActionKind.RESUME,
        ActionKind.ENTER,
        ActionKind.SET_ASIDE,
        ActionKind.BREAK_OFF,
        ActionKind.INOPERABLE,
    }
)


def build_report(session: Session, issue: Issue | None = None) -> Report:
    """Everything a report says. Reads the raw readings once for each chart."""
    header, meters, rows = _header(session, issue or Issue()), tuple(meters_of(session)), rows_of(session)
    environment = tuple(environment_of(session))
    captured = tuple(_captured(session, value) for value in session.course.values)
    steps = tuple(_step_run(session, planned) for planned in plan_of(session.procedure))
    return Report(
        header=header,
        condition=condition_of(session),
        warning=_warning(session, steps),
        remark=uncharged_remark(session),
        overrides=overrides_of(session),
        meters=meters,
        environment=environment,
        levels=_levels(session),
        as_found=as_found(session),
        as_left=as_left(session),
        rows=rows,
        steps=steps,
        superseded=tuple(value for value in captured if value.fate),
        captured=captured,
        deviations=deviations_of(session),
        cautions=tuple(cautions_of(session)),
        notes=tuple(_notes(session)),
        trips=tuple(_trip(session, trip) for trip in session.course.trips),
        charts=tuple(charts_of(session)),
        budgets=tuple(budgets_of(session, rows)),
        without_budget=without_budget(session, rows),
        signature=_signature(session),
        statements=statements_of(session, header, meters, environment),
    )


def _header(session: Session, issue: Issue) -> Header:
    known, procedure, commission = session.header, session.procedure, session.commission
    return Header(
        number=", ".join(part for part in (_report_number(issue), _session_number(session)) if part),
        unit_model=known.unit_model,
        unit_serial=known.unit_serial,
        operator=known.operator,
        procedure=procedure.title,
        revision=procedure.revision,
        procedure_unit=procedure.unit,
        procedure_digest=known.procedure_digest,
        bench=", then ".join(dict.fromkeys(b.name for _, b in session.benches)) or session.bench.name,
        began=session.time(0),
        ended=session.time(known.ended.at_ns) if known.ended else None,
        recorded_verdict=STANDING_OF[known.ended.verdict] if known.ended else None,
        software=known.software,
        laboratory=session.bench.laboratory,
        customer=issue.customer or commission.customer,
        customer_says=commission.customer_says,
        received=commission.received,
        work_place=commission.work_place,
        environment=summary_of(session),
        replacing=f"report {issue.replaces}, because: {issue.because}" if issue.replaces else "",
        issued=issue.at,
        issued_before=issued_before(session),
        results_digest=session.results_digest,
    )


def _report_number(issue: Issue) -> str:
    return f"report {issue.number}" if issue.number else ""


def _session_number(session: Session) -> str:
    return f"session {session.header.id}, unit {session.header.unit_serial}"


def _warning(session: Session, steps: tuple[StepRun, ...]) -> str:
    if session.header.ended is not None:
        return ""
    open_steps = sum(step.standing is Standing.NOT_DONE for step in steps)
    return (
        f"This session is not finished: {open_steps} of {len(steps)} places of its plan are not done. "
        "What stands here is how far it had come, not a result."
    )


def _levels(session: Session) -> tuple[str, ...]:
    """The references that levels of this session rest on: what the procedure states before the bench's."""
    own, bench = session.procedure.levels, session.bench.references
    vu, dbfs, load = own.vu or bench.vu, own.dbfs or bench.dbfs, own.dbm_ohm or bench.dbm_ohm
    stated = [
        "0 dBu = 0.7746 V (the root of 0.6 V²)",
        "0 dBV = 1 V",
        f"0 VU = {vu}" if vu else "",
        f"0 dBFS = {dbfs}" if dbfs else "",
        f"0 dBm = 1 mW in {load:g} ohm" if load else "",
    ]
    return tuple(text for text in stated if text)


def _step_run(session: Session, planned: PlannedStep) -> StepRun:
    ending = session.course.ending(planned.place)
    standing = session.course.standing(planned.place)
    without_verdict = ending is not None and standing is Standing.NOT_JUDGED
    redos = sum(redo.place == planned.place for redo in session.course.redos())
    return StepRun(
        place=planned.place + 1,
        pass_=planned.pass_,
        title=planned.step.title,
        standing=Standing.DONE if without_verdict else standing,
        attempt=ending.attempt if ending else 1 + redos,
        began=session.time(ending.began_ns) if ending else None,
        ended=session.time(ending.at_ns) if ending else None,
        reason=ending.reason if ending else "",
    )


def _captured(session: Session, value: SettledValue) -> Captured:
    step = session.step(value.step)
    return Captured(
        number=value.number,
        at=session.time(value.at_ns),
        pass_=value.pass_,
        title=step.title,
        line=line_of_value(step, value),
        shown=shown(value, session.scale(value)),
        coverage_factor=value.coverage_factor,
        readings=value.readings,
        standing=STANDING_OF[value.verdict],
        fate=_fate(session, value),
    )


def _fate(session: Session, value: SettledValue) -> str:
    """Why a value does not count; "" for one that was never taken back."""
    redo, successor = session.course.redo_of(value), session.course.successor(value)
    if redo is None and successor is None:
        return ""
    replaced = f"replaced by {successor.number}" if successor else "taken back"
    return f"{replaced}: {redo.reason}" if redo and redo.reason else f"{replaced}, no reason given"


def _trip(session: Session, trip: GuardTripped) -> Trip:
    scale = session.channel_scale(trip.channel, session.procedure.channel(trip.channel).unit)
    planned = plan_of(session.procedure)[trip.place]
    return Trip(
        at=session.time(trip.at_ns),
        guard=trip.guard,
        pass_=trip.pass_,
        title=planned.step.title,
        channel=trip.channel,
        value="overload" if trip.value is None else show(trip.value, scale),
        limit=show(trip.limit, scale),
    )


def _signature(session: Session) -> Signature | None:
    """The name as it was typed in; None where nobody has signed, or something was done again since."""
    signing = [planned.place for planned in plan_of(session.procedure) if isinstance(planned.step, Sign)]
    ending = session.course.ending(signing[-1]) if signing else None
    if ending is None or any(redo.at_ns >= ending.at_ns for redo in session.course.redos()):
        return None
    typed = (a for a in session.course.actions if a.kind is ActionKind.ENTER and a.at_ns == ending.at_ns)
    name = next((" ".join(action.text.split()) for action in typed), "")
    return Signature(name, session.time(ending.at_ns)) if name else None


def _notes(session: Session) -> Iterator[Note]:
    """Notes, and what interrupted the session. Reasons of redos and skips stand beside what they changed."""
    for action in session.course.actions:
        if action.kind in _NOTED and not is_override(action):
            yield Note(session.time(action.at_ns), action.kind, action.text)
