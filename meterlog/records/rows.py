"""Between records and rows of the tables. A row is refused here if a database could not give it back."""

import json
import math
from collections.abc import Mapping, Sequence
from dataclasses import asdict, fields
from enum import StrEnum
from typing import Any, NamedTuple, TypeVar

from sqlalchemy import Table

from meterlog.accuracy import Verdict
from meterlog.procedure.events import (
    Acted,
    ActionKind,
    Ending,
    Event,
    GuardTripped,
    Measured,
    Outcome,
    Pass,
    Role,
    SessionEnded,
    SettledValue,
    StepEnded,
    Ticked,
)
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Reading, State
from meterlog.records import schema
from meterlog.records.budgets import budget_of, budget_text
from meterlog.records.errors import RecordsError
from meterlog.records.session import Instrument, KeptOutcome

Values = Mapping[Any, Any]  # a RowMapping has keys that are not only texts
_KINDS: dict[str, type[StrEnum]] = {
    "unit": Unit,
    "state": State,
    "coupling": Coupling,
    "kind": ActionKind,
    "pass_": Pass,
    "role": Role,
    "verdict": Verdict,
    "ending": Ending,
}
_OUTCOMES: dict[Table, type[Outcome]] = {
    schema.settled_values: SettledValue,
    schema.step_endings: StepEnded,
    schema.guard_trips: GuardTripped,
    schema.session_endings: SessionEnded,
}
_TABLES = {kind: table for table, kind in _OUTCOMES.items()}
_MOST = 2**63 - 1

T = TypeVar("T")


class Row(NamedTuple):
    table: Table
    values: dict[str, Any]


def event_row(session_id: int, sequence: int, event: Event, time_ns: int) -> Row:
    """`time_ns` is UTC now; only actions keep it, a reading has its own."""
    key = {"session_id": session_id, "sequence": sequence, "at_ns": event.at_ns}
    match event:
        case Measured(_, reading):
            flags = json.dumps(sorted(reading.flags))
            return _checked(Row(schema.readings, {**_plain(reading), **key, "flags": flags}))
        case Acted():
            return _checked(Row(schema.actions, {**_plain(event), **key, "time_ns": time_ns}))
        case Ticked():
            return _checked(Row(schema.ticks, key))


def outcome_rows(session_id: int, sequence: int, outcomes: Sequence[Outcome]) -> list[Row]:
    key = {"session_id": session_id, "sequence": sequence}
    return [
        _checked(Row(_TABLES[type(outcome)], _outcome_values(outcome) | key | {"position": position}))
        for position, outcome in enumerate(outcomes)
    ]


def instrument_row(session_id: int, instrument: Instrument) -> Row:
    return _checked(Row(schema.instruments, {**asdict(instrument), "session_id": session_id}))


def event_of(table: Table, values: Values) -> Event:
    """The event that a row of one of the tables in `schema.EVENTS` holds."""
    if table is schema.readings:
        flags = frozenset(json.loads(values["flags"]))
        return Measured(values["at_ns"], _record(Reading, {**values, "flags": flags}))
    return action_of(values) if table is schema.actions else _record(Ticked, values)


def action_of(values: Values) -> Acted:
    return _record(Acted, values)


def kept_outcome_of(table: Table, values: Values) -> KeptOutcome:
    """The outcome that a row of one of the tables in `schema.OUTCOMES` holds."""
    if table is schema.settled_values:
        values = {**values, "budget": budget_of(values["budget"])}
    return KeptOutcome(
        sequence=values["sequence"], position=values["position"], outcome=_record(_OUTCOMES[table], values)
    )


def instrument_of(values: Values) -> Instrument:
    return _record(Instrument, values)


def _outcome_values(outcome: Outcome) -> dict[str, Any]:
    values = _plain(outcome)
    return values | {"budget": budget_text(outcome.budget)} if isinstance(outcome, SettledValue) else values


def _plain(record: Event | Outcome | Reading) -> dict[str, Any]:
    """Fields by the names of columns: those of the record, but `pass` for `pass_`."""
    found = {field.name.rstrip("_"): getattr(record, field.name) for field in fields(record)}
    # Not every driver writes a str-enumeration as its text.
    return {name: str(value) if isinstance(value, StrEnum) else value for name, value in found.items()}


def _record(kind: type[T], values: Values) -> T:
    given = {name: values[name.rstrip("_")] for name in (field.name for field in fields(kind))}  # type: ignore[arg-type]
    return kind(**{name: _KINDS[name](v) if name in _KINDS else v for name, v in given.items()})


def _checked(row: Row) -> Row:
    """RecordsError for what no database gives back as it was: NaN, and integers beyond 64 bits."""
    for name, value in row.values.items():
        if isinstance(value, float) and math.isnan(value):
            raise _refusal(row, name, "is not a number; a driver says so with a state, and gives no value")
        if isinstance(value, int) and abs(value) > _MOST:
            raise _refusal(row, name, f"is {value}, beyond 64 bits")
    return row


def _refusal(row: Row, name: str, what: str) -> RecordsError:
    whose = row.values.get("channel") or row.values.get("step") or row.values.get("meter") or ""
    return RecordsError(f"{row.table.name} {whose!r}: {name} {what}; it is not recorded. Report this fault.")
