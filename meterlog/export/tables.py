"""The tables of an export, the same for every format: settled values, guards that tripped, and raw readings
on request.

Values and limits are in the base unit, unrounded, as the record keeps them; beside them the value as it
is shown. Units are plain ASCII (uV, ohm).
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from meterlog.accuracy.budget import Line
from meterlog.export.budget_cell import finite
from meterlog.export.columns import READING_COLUMNS, SETTLED_COLUMNS, TRIP_COLUMNS
from meterlog.procedure import GuardTripped, Measured, SettledValue, plan_of
from meterlog.quantity import difference_db
from meterlog.report.condition import condition_of, was_left_alone
from meterlog.report.decision_words import acceptance_of
from meterlog.report.environment import environment_at
from meterlog.report.redone_rows import is_redone
from meterlog.report.session import Session, local_time
from meterlog.report.shown import distance_unit, scale_for, sides

Cell = str | int | float | datetime | tuple[Line, ...] | None
"""One cell. Text is text even if it looks like a number; a time carries its offset; never NaN. A budget
is written as the format allows."""


@dataclass(frozen=True, slots=True)
class Table:
    """`name` is singular: what one row is. `rows` may be read once."""

    name: str
    columns: Sequence[str]
    rows: Iterable[Sequence[Cell]]


SETTLED = "settled value"


def settled_table(session: Session) -> Table:
    """Every settled value of the record, also those that were taken back."""
    return Table(SETTLED, SETTLED_COLUMNS, [_settled_row(session, v) for v in session.course.values])


def trips_table(session: Session) -> Table:
    """Every guard that tripped; the value is empty for an overload."""
    return Table("guard trip", TRIP_COLUMNS, [_trip_row(session, trip) for trip in session.course.trips])


def readings_table(session: Session, channel: str | None = None) -> Table:
    """Every raw reading (of a channel), read from the record as the rows are taken. `seconds` count from the
    beginning."""
    rows = (_reading_row(session, measured) for measured in session.readings(channel, None, None))
    return Table("reading", READING_COLUMNS, rows)


def _settled_row(session: Session, value: SettledValue) -> tuple[Cell, ...]:
    scale = scale_for(value, session.scale(value))
    step, redo = session.step(value.step), session.course.redo_of(value)
    standing = any(value.number == other.number for other in session.course.counting(value.place))
    counts = standing and not is_redone(session, value)
    return (
        *_whose(session), value.number, value.step,
        step.title, value.pass_, value.role, value.condition, value.round, value.channel,
        value.value, value.unit, scale.from_base(value.value), f"{scale.symbol}{scale.bracket}",
        value.expanded_uncertainty, *map(finite, sides(value, scale)), distance_unit(scale),
        value.coverage_factor, value.readings,
        value.target, value.low, value.high, value.verdict, session.time(value.at_ns), value.attempt,
        value.replaces, "yes" if counts else "no", redo.reason if redo else "",
        condition_of(session).word, "yes" if was_left_alone(session, step) else "no",
        value.about, _rule(session), value.standard_uncertainty, finite(value.degrees_of_freedom),
        value.budget, *_air(session, value),
        None if value.correction is None else difference_db(value.correction, 1.0),
        *_passing(session, value),
    )  # fmt: skip


def _passing(session: Session, value: SettledValue) -> tuple[Cell, Cell]:
    """The limits less the guard band; empty where these are what the value is judged by, and where a guard
    band leaves nothing between them."""
    found = acceptance_of(value, session.procedure.rule)
    return (found.low, found.high) if found and not found.empty else (None, None)


def _air(session: Session, value: SettledValue) -> tuple[Cell, Cell]:
    """Degrees Celsius and per cent relative humidity, as told by then."""
    known = environment_at(session, value.at_ns)
    return known.temperature_c, known.humidity_percent


def _rule(session: Session) -> str:
    """As the procedure states it; what it means stands in the report."""
    return session.procedure.head.rule_name


def _trip_row(session: Session, trip: GuardTripped) -> tuple[Cell, ...]:
    unit = session.procedure.channel(trip.channel).unit
    scale = session.channel_scale(trip.channel, unit)
    shown = None if trip.value is None else scale.from_base(trip.value)
    return (
        *_whose(session), trip.guard, trip.step, plan_of(session.procedure)[trip.place].step.title,
        trip.pass_, trip.channel, trip.value, unit,
        shown if shown is not None and math.isfinite(shown) else None, f"{scale.symbol}{scale.bracket}",
        trip.limit, scale.from_base(trip.limit), session.time(trip.at_ns),
    )  # fmt: skip


def _whose(session: Session) -> tuple[Cell, ...]:
    return session.header.id, session.header.unit_model, session.header.unit_serial


def _reading_row(session: Session, measured: Measured) -> tuple[Cell, ...]:
    reading = measured.reading
    return (
        session.header.id, local_time(reading.time_ns, session.zone), measured.at_ns / 1e9, reading.channel,
        reading.value, reading.unit, *_shown(session, measured), reading.state, reading.coupling,
        reading.resolution or None, reading.range_max, reading.function, " ".join(sorted(reading.flags)),
        reading.raw.decode("ascii", "backslashreplace").strip(),
    )  # fmt: skip


def _shown(session: Session, measured: Measured) -> tuple[Cell, Cell]:
    """Value and unit on the channel's scale; a level of nothing has no number."""
    reading = measured.reading
    scale = session.channel_scale(reading.channel, reading.unit)
    number = None if reading.value is None else scale.from_base(reading.value)
    on_scale = number is not None and math.isfinite(number)
    return number if on_scale else None, f"{scale.symbol}{scale.bracket}"
