"""Words for the parts of a step: what a row is about, what it aims at."""

from meterlog.procedure import Role, SettledValue, Step
from meterlog.procedure.model import (
    Alternate,
    BackOff,
    Condition,
    Derived,
    Extremum,
    Manual,
    Match,
    Rows,
    Stability,
    StopBackOff,
    Threshold,
)
from meterlog.procedure.model.matching import Side
from meterlog.procedure.patterns.stability import END, FURTHEST, START
from meterlog.procedure.signals import COARSE
from meterlog.quantity import Offset, Scale, Span, show_number
from meterlog.report.session import Session, aiming_parts
from meterlog.report.shown import Shown
from meterlog.report.standing import Line, line_of

Aim = tuple[str, str]
"""Target with its unit and reference, and the window; both empty where nothing is aimed at."""


def lines_of(step: Step) -> list[tuple[str, Line]]:
    """The conditions and lines of a step that a report has a row for."""
    match step:
        case Alternate() | Rows() | Stability():
            return [(name, Line.LEVEL) for name in _parts_of(step)]
        case Match() | Derived():
            return [*((name, Line.LEVEL) for name in _read_for(step)), ("", Line.DERIVED)]
        case Threshold():
            return [("", Line.LIT), ("", Line.UNLIT)]
        case Extremum() if step.coarse:
            return [(name, line) for name in (COARSE, "") for line in (Line.PEAK, Line.LEVEL)]
        case Extremum() | BackOff() | StopBackOff():
            return [("", Line.PEAK), ("", Line.LEVEL)]
        case _:
            return [("", Line.LEVEL)]


def _parts_of(step: Alternate | Rows | Stability) -> list[str]:
    if isinstance(step, Stability):
        return [START, FURTHEST, END]
    if isinstance(step, Rows):
        return [row.label for row in step.rows]
    return [condition.name for condition in step.condition]


def _read_for(step: Match | Derived) -> list[str]:
    """The readings beside what is computed from them."""
    if isinstance(step, Match):
        return [side.name for side in step.side]
    return [""] if step.channel else []


def line_text(step: Step, condition: str, line: Line) -> str:
    """What a row or a value is about within its step."""
    if line is Line.DERIVED:
        return _computed_text(step)
    match step, line:
        case (Extremum() | BackOff(), Line.PEAK):
            return f"{condition} {step.extremum}".strip()
        case StopBackOff(), _:
            return step.stop if line is Line.PEAK else f"{step.fall} from there"
        case BackOff(), Line.LEVEL:
            return f"{step.fall} beyond the {step.extremum}"
        case Threshold(), Line.LIT | Line.UNLIT:
            return f"{step.indicator} {'comes on' if line is Line.LIT else 'goes off'}"
        case _:
            return condition or ("at the end" if isinstance(step, Stability) else "")


def line_of_value(step: Step, value: SettledValue) -> str:
    """A level as found in a back-off is not yet beyond anything: only what was adjusted is named so."""
    measured = value.role is Role.MEASURED
    line = value.condition if measured else line_text(step, value.condition, line_of(value))
    return f"{line}, round {value.round}" if value.round > 1 else line


def _computed_text(step: Step) -> str:
    match step:
        case Match(staying=Side() as other):
            return f"{step.move} against {other.name}"
        case Match():
            return f"{step.move} against the earlier step"
        case Derived(channel=str()):
            return step.kind
        case _:
            return ""


def aim_of_value(texts: Shown, bracket: str) -> Aim:
    """Target and window as a value carries them; those of an extremum are known only from it."""
    target = f"{texts.target} {texts.unit}{bracket}" if texts.target else ""
    if texts.low and texts.high:
        return target, f"{texts.low} to {texts.high}"
    return target, f"from {texts.low}" if texts.low else f"up to {texts.high}" if texts.high else ""


def aim_of_row(session: Session, step: Rows, label: str) -> Aim:
    """As the table states it: in dB about its reference, for that is how a response is read."""
    row = next(row for row in step.rows if row.label == label)
    expected, tolerance = step.expected_of(row), step.tolerance_of(row)
    if expected is None or tolerance is None:
        return "the reference" if step.is_reference(row) else "", ""
    if not isinstance(expected, Offset):
        return str(expected), f"± {tolerance}"
    about = session.step(step.reference).title if step.reference else step.reference_row
    return f"{expected.db:+.2f} dB about {about}", f"± {tolerance}"


def aim_as_planned(session: Session, step: Step, condition: str, line: Line) -> Aim:
    """Target and window as the procedure states them, for a row without a value."""
    if line is Line.DERIVED or isinstance(step, Manual):
        return _aim_of_own(session, step)
    parts = [p for p in aiming_parts(step) if not isinstance(p, Condition) or p.name == condition]
    part = parts[0] if parts else None
    if part is None or part.target is None or part.tolerance is None or line is Line.UNLIT:
        return "", ""
    if isinstance(part.target, Offset):
        return f"{part.target} about {session.step(part.reference or '').title}", f"± {part.tolerance}"
    scale = session.channel_scale(part.channel, part.target.scale.unit, step)
    return _planned(part.target.base, part.tolerance, scale)


def _aim_of_own(session: Session, step: Step) -> Aim:
    """Of a value that no channel gives: on its own scale."""
    match step:
        case Match():
            return _planned(step.aim.base, step.agreement, step.own_scale)
        case Manual(target=Offset() as target, reference=str() as reference):
            return f"{target} about {session.step(reference).title}", f"± {step.tolerance}"
        case Manual() | Derived() if step.tolerance is not None:
            return _planned(step.aim.base, step.tolerance, step.own_scale)
        case _:
            return "", ""


def _planned(base: float, span: Span, scale: Scale) -> Aim:
    digit = span.half_width(base) / 10.0
    low, target, high = (
        show_number(number, scale, digit) for number in (span.low(base), base, span.high(base))
    )
    unit = f"{scale.symbol}{scale.bracket}"
    if scale.is_level and span.low(base) <= 0.0:  # no number in dB: only the upper limit is one
        return ("" if base <= 0.0 else f"{target} {unit}"), f"up to {high} {unit}"
    return f"{target} {unit}", f"{low} to {high}"
