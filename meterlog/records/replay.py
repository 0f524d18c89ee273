"""Replay: the stored events through the same code again, every outcome compared with the stored one.

Equal means equal to the last bit: no outcome holds NaN, so `==` of floats is that (but for the sign of a
zero, which the database does not keep). A session may be replayed while it runs.
"""

from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, fields
from itertools import zip_longest
from typing import Any, NamedTuple, Protocol

from sqlalchemy import Engine as Database

from meterlog.accuracy import Conditions, InUse
from meterlog.errors import MeterlogError
from meterlog.procedure import Lags
from meterlog.procedure.events import Event, GuardTripped, Outcome, SessionEnded, SettledValue, StepEnded
from meterlog.records.errors import RecordsError
from meterlog.records.queries import iter_events, load_session
from meterlog.records.rebuild import build_engine, changes_of
from meterlog.records.session import SessionRecord

HOW_SURE = frozenset(
    {
        "standard_uncertainty",
        "degrees_of_freedom",
        "expanded_uncertainty",
        "coverage_factor",
        "budget",
        "lower",
        "upper",
    }
)
"""Fields of a settled value that say how sure it is: they change with a way of computing uncertainties."""


class Replayable(Protocol):
    """All that replay needs of a procedure engine."""

    def apply(self, event: Event) -> list[Outcome]: ...

    def use(self, meters: Mapping[str, InUse], conditions: Mapping[str, Conditions], lags: Lags) -> None: ...


@dataclass(frozen=True, slots=True)
class ReplayReport:
    """Counts of what was stored, and what came out otherwise, one line each.

    software  version of meterlog that began the session
    how_sure  in how many of the differences all is equal but how sure the value is
    """

    session_id: int
    software: str
    events: int
    settled_values: int
    step_endings: int
    ended: bool
    differences: tuple[str, ...]
    how_sure: int


def replay(
    database: Database,
    session_id: int,
    build: Callable[[SessionRecord], Replayable] = build_engine,
) -> ReplayReport:
    """RecordsError: no such session. ProcedureError: this version refuses the stored procedure."""
    record = load_session(database, session_id)
    stored = _by_sequence(record)
    engine = build(record)
    count, differences = 0, list[_Difference]()
    changes = changes_of(record)
    for sequence, event in iter_events(database, session_id):
        count += 1
        if sequence in changes:
            engine.use(*changes[sequence])
        differences += _compare(sequence, stored.pop(sequence, []), _applied(engine, event))
    for sequence, outcomes in stored.items():
        differences += [
            _Difference(f"event {sequence} is not stored, but {_name(one)} rests on it") for one in outcomes
        ]
    return ReplayReport(
        session_id=session_id,
        software=record.header.software,
        events=count,
        settled_values=len(record.settled_values),
        step_endings=len(record.step_endings),
        ended=record.header.ended is not None,
        differences=tuple(one.text for one in differences),
        how_sure=sum(one.how_sure for one in differences),
    )


class _Difference(NamedTuple):
    """how_sure: all else is equal."""

    text: str
    how_sure: bool = False


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


def _compare(
    sequence: int, stored: list[Outcome], given: list[Outcome] | MeterlogError
) -> Iterator[_Difference]:
    where = f"event {sequence}"
    if isinstance(given, MeterlogError):
        yield _Difference(f"{where}: refused now, though it was accepted: {given}")
        given = []
    for old, new in zip_longest(stored, given):
        if new is None:
            yield _Difference(f"{where}: {_name(old)} is stored, replay does not give it")
        elif old is None:
            yield _Difference(f"{where}: replay gives {_name(new)}, which is not stored")
        elif type(old) is not type(new):
            yield _Difference(f"{where}: {_name(old)} is stored, replay gives {_name(new)}")
        elif old != new:
            yield _otherwise(where, old, new)


def _otherwise(where: str, old: Any, new: Any) -> _Difference:
    names = [one.name for one in fields(old) if getattr(old, one.name) != getattr(new, one.name)]
    how_sure = HOW_SURE.issuperset(names)
    equal = "value and verdict are equal; " if how_sure else ""
    changes = (
        f"{name.rstrip('_')} {_shown(getattr(old, name))} stored, {_shown(getattr(new, name))} replayed"
        for name in names
    )
    return _Difference(f"{where}: {_name(old)}: {equal}{', '.join(changes)}", how_sure)


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
