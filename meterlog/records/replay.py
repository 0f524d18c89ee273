"""Replay: the stored events through the same code again, every outcome compared with the stored one.

Equal means equal to the last bit: no outcome holds NaN, so `==` of floats is that (but for the sign of a
zero, which the database does not keep). A session may be replayed while it runs.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from itertools import zip_longest
from typing import Any, Protocol

from sqlalchemy import Engine as Database

from meterlog.accuracy import Conditions, InUse
from meterlog.errors import MeterlogError
from meterlog.procedure import Lags
from meterlog.procedure.events import Event, GuardTripped, Outcome, SessionEnded, SettledValue, StepEnded
from meterlog.records.errors import RecordsError
from meterlog.records.queries import iter_events, load_session
from meterlog.records.rebuild import build_engine, changes_of
from meterlog.records.session import SessionRecord


class Replayable(Protocol):
    """All that replay needs of a procedure engine."""

    def apply(self, event: Event) -> list[Outcome]: ...

    def use(self, meters: Mapping[str, InUse], conditions: Mapping[str, Conditions], lags: Lags) -> None: ...


@dataclass(frozen=True, slots=True)
class ReplayReport:
    """Counts of what was stored, and what came out otherwise, one line each."""

    session_id: int
    events: int
    settled_values: int
    step_endings: int
    ended: bool
    differences: tuple[str, ...]


def replay(
    database: Database,
    session_id: int,
    build: Callable[[SessionRecord], Replayable] = build_engine,
) -> ReplayReport:
    """RecordsError: no such session. ProcedureError: this version refuses the stored procedure."""
    record = load_session(database, session_id)
    stored = _by_sequence(record)
    engine = build(record)
    count, differences = 0, list[str]()
    changes = changes_of(record)
    for sequence, event in iter_events(database, session_id):
        count += 1
        if sequence in changes:
            engine.use(*changes[sequence])
        differences += _compare(sequence, stored.pop(sequence, []), _applied(engine, event))
    for sequence, outcomes in stored.items():
        differences += [f"event {sequence} is not stored, but {_name(one)} rests on it" for one in outcomes]
    return ReplayReport(
        session_id=session_id,
        events=count,
        settled_values=len(record.settled_values),
        step_endings=len(record.step_endings),
        ended=record.header.ended is not None,
        differences=tuple(differences),
    )


def _by_sequence(record: SessionRecord) -> dict[int, list[Outcome]]:
    found: dict[int, list[Outcome]] = defaultdict(list)
    for kept in record.outcomes:
        found[kept.sequence].append(kept.outcome)
    return dict(found)


def _applied(engine: Replayable, event: Event) -> list[Outcome] | MeterlogError:
    try:
        return engine.apply(event)
    except MeterlogError as refusal:
        return refusal
    except (ValueError, TypeError) as error:  # a stored value that no meter can have sent
        return RecordsError(f"this version cannot take it: {error}")


def _compare(sequence: int, stored: list[Outcome], given: list[Outcome] | MeterlogError) -> Iterator[str]:
    where = f"event {sequence}"
    if isinstance(given, MeterlogError):
        yield f"{where}: refused now, though it was accepted: {given}"
        given = []
    for old, new in zip_longest(stored, given):
        if new is None:
            yield f"{where}: {_name(old)} is stored, replay does not give it"
        elif old is None:
            yield f"{where}: replay gives {_name(new)}, which is not stored"
        elif type(old) is not type(new):
            yield f"{where}: {_name(old)} is stored, replay gives {_name(new)}"
        elif old != new:
            yield f"{where}: {_name(old)}: {', '.join(_changes(old, new))}"


def _changes(old: Any, new: Any) -> Iterator[str]:
    for name in (field.name for field in fields(old)):
        before, after = getattr(old, name), getattr(new, name)
        if before != after:
            yield f"{name.rstrip('_')} {_shown(before)} stored, {_shown(after)} replayed"


def _shown(value: object) -> str:
    """The shortest digits that name a float exactly, or plain text."""
    return str(value) if isinstance(value, str) else repr(value)


def _name(outcome: Outcome) -> str:
    match outcome:
        case SettledValue():
            return f"settled value {outcome.number} ({outcome.step}, {outcome.pass_})"
        case StepEnded():
            return f"the end of step {outcome.step} ({outcome.pass_})"
        case GuardTripped():
            return f"the trip of guard {outcome.guard!r} ({outcome.step}, {outcome.pass_})"
        case SessionEnded():
            return "the end of the session"
