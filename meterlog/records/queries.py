"""Reading the record. Nothing here holds a transaction open while somebody else computes: many rows are
fetched page by page, because an open read keeps the write-ahead log growing."""

import heapq
from collections.abc import Callable, Iterator
from functools import partial
from operator import itemgetter
from typing import Any, TypeVar

from sqlalchemy import Connection, Engine, RowMapping, Select, Table, func, select

from meterlog.accuracy import Verdict
from meterlog.procedure.events import ActionKind, Event, Measured, SessionEnded
from meterlog.records import schema
from meterlog.records.beginning import digest_of
from meterlog.records.engine import reading
from meterlog.records.errors import RecordsError
from meterlog.records.rows import action_of, event_of, instrument_of, kept_outcome_of
from meterlog.records.session import (
    BenchUsed,
    Commission,
    Instrument,
    KeptOutcome,
    SessionHeader,
    SessionRecord,
)

PAGE_ROWS = 2000
Converted = TypeVar("Converted")
_RESTORE = "set the record aside and restore a backup"


def list_sessions(engine: Engine) -> list[SessionHeader]:
    """All sessions, the newest first."""
    with reading(engine) as connection:
        rows = connection.execute(_headers().order_by(schema.sessions.c.id.desc())).mappings()
        return [_header(row) for row in rows]


def unfinished_session(engine: Engine) -> int | None:
    """The newest session, if it has not ended and was not set aside: the one to go on with by itself."""
    newest = next(iter(list_sessions(engine)), None)
    if newest is None or newest.ended is not None:
        return None
    with reading(engine) as connection:
        kinds = select(schema.actions.c.kind).where(schema.actions.c.session_id == newest.id)
        last = connection.execute(kinds.order_by(schema.actions.c.sequence.desc()).limit(1)).scalar()
    return None if last == ActionKind.SET_ASIDE else newest.id


def load_session(engine: Engine, session_id: int) -> SessionRecord:
    """RecordsError: no such session."""
    with reading(engine) as connection:
        header = _one_header(connection, session_id)
        return SessionRecord(
            header=header,
            procedure_text=_document(connection, header.procedure_digest),
            benches=_benches(connection, header),
            instruments=_instruments(connection, session_id),
            actions=tuple(
                _converted(schema.actions, row, action_of)
                for row in _all(connection, schema.actions, session_id, "sequence")
            ),
            outcomes=_outcomes(connection, session_id),
            commission=_commission(connection, session_id),
        )


def iter_readings(
    engine: Engine,
    session_id: int,
    channel: str | None = None,
    from_ns: int | None = None,
    to_ns: int | None = None,
) -> Iterator[Measured]:
    """Readings of a channel (None: of all) with from_ns <= at_ns < to_ns, in order of sequence.

    RecordsError, at the call: no such session.
    """
    column = schema.readings.c
    limits = select(schema.readings)
    if channel is not None:
        limits = limits.where(column.channel == channel)
    if from_ns is not None:
        limits = limits.where(column.at_ns >= from_ns)
    if to_ns is not None:
        limits = limits.where(column.at_ns < to_ns)
    last, _ = last_moment(engine, session_id)
    found = _paged(engine, schema.readings, limits, session_id, last)
    return (event for _, event in found if isinstance(event, Measured))


def iter_events(engine: Engine, session_id: int) -> Iterator[tuple[int, Event]]:
    """(sequence, event) as the engine got them, up to the last one stored at the call.

    RecordsError, at the call: no such session.
    """
    last, _ = last_moment(engine, session_id)
    streams = [_paged(engine, table, select(table), session_id, last) for table in schema.EVENTS]
    return heapq.merge(*streams, key=itemgetter(0))


def last_moment(engine: Engine, session_id: int) -> tuple[int, int]:
    """(sequence, at_ns) of the last event stored, (0, 0) before the first. RecordsError: no such session."""
    with reading(engine) as connection:
        _one_header(connection, session_id)
        found = [_last(connection, table, session_id) for table in schema.EVENTS]
    return max(found)


def _headers() -> Select[Any]:
    ending = schema.session_endings
    return select(schema.sessions, ending.c.verdict, ending.c.at_ns).outerjoin(
        ending, ending.c.session_id == schema.sessions.c.id
    )


def _header(row: RowMapping) -> SessionHeader:
    values = dict(row)
    verdict, at_ns = values.pop("verdict"), values.pop("at_ns")
    ended = None if verdict is None else SessionEnded(verdict=Verdict(verdict), at_ns=at_ns)
    return SessionHeader(**values, ended=ended)


def _one_header(connection: Connection, session_id: int) -> SessionHeader:
    found = connection.execute(_headers().where(schema.sessions.c.id == session_id)).mappings().first()
    if found is None:
        raise RecordsError(f"there is no session {session_id}; {_which(connection)}")
    return _header(found)


def _which(connection: Connection) -> str:
    """Sessions are numbered without gaps, so the first and last say all there are."""
    first, last = connection.execute(
        select(func.min(schema.sessions.c.id), func.max(schema.sessions.c.id))
    ).one()
    if first is None:
        return "none has been recorded yet"
    return f"choose one from {first} to {last}" if first < last else f"there is only session {last}"


def _document(connection: Connection, digest: str) -> str:
    """RecordsError: the text is gone, or not the one that was stored."""
    found = select(schema.documents.c.text).where(schema.documents.c.digest == digest)
    text = connection.execute(found).scalar_one_or_none()
    if text is None or digest_of(str(text)) != digest:
        raise RecordsError(f"documents: the text with the SHA-256 {digest} is gone or altered; {_RESTORE}")
    return str(text)


def _converted(table: Table, row: RowMapping, convert: Callable[[RowMapping], Converted]) -> Converted:
    """RecordsError, naming the row, for one that holds what was never stored."""
    try:
        return convert(row)
    except (ValueError, TypeError, KeyError) as error:
        number = row.get("sequence", row.get("id"))
        where = f"{table.name} of session {row['session_id']}, row {number}"
        raise RecordsError(f"{where}: damaged: {error}; {_RESTORE}") from error


def _benches(connection: Connection, header: SessionHeader) -> tuple[BenchUsed, ...]:
    later = _all(connection, schema.benches, header.id, "since_sequence")
    used = [(0, header.bench_digest), *((row["since_sequence"], row["bench_digest"]) for row in later)]
    described = _all(connection, schema.specifications, header.id, "since_sequence")
    profiled = _all(connection, schema.profiles, header.id, "since_sequence")
    return tuple(
        BenchUsed(
            since_sequence=since,
            text=_document(connection, digest),
            specifications={
                row["meter"]: _document(connection, row["digest"])
                for row in described
                if row["since_sequence"] == since
            },
            profiles={
                row["channel"]: _document(connection, row["digest"])
                for row in profiled
                if row["since_sequence"] == since
            },
        )
        for since, digest in used
    )


def _instruments(connection: Connection, session_id: int) -> tuple[Instrument, ...]:
    rows = _all(connection, schema.instruments, session_id, "id")
    return tuple(_converted(schema.instruments, row, instrument_of) for row in rows)


def _commission(connection: Connection, session_id: int) -> Commission:
    table = schema.commissions
    wanted = select(table).where(table.c.session_id == session_id)
    row = connection.execute(wanted).mappings().first()
    return Commission(**{name: row[name] for name in row if name != "session_id"}) if row else Commission()


def _outcomes(connection: Connection, session_id: int) -> tuple[KeptOutcome, ...]:
    kept = [
        _converted(table, row, partial(kept_outcome_of, table))
        for table in schema.OUTCOMES
        for row in _all(connection, table, session_id, "sequence")
    ]
    return tuple(sorted(kept, key=lambda one: (one.sequence, one.position)))


def _all(connection: Connection, table: Table, session_id: int, order: str) -> list[RowMapping]:
    wanted = select(table).where(table.c.session_id == session_id).order_by(table.c[order])
    return list(connection.execute(wanted).mappings())


def _last(connection: Connection, table: Table, session_id: int) -> tuple[int, int]:
    wanted = select(table.c.sequence, table.c.at_ns).where(table.c.session_id == session_id)
    found = connection.execute(wanted.order_by(table.c.sequence.desc()).limit(1)).first()
    return (found.sequence, found.at_ns) if found else (0, 0)


def _paged(
    engine: Engine, table: Table, wanted: Select[Any], session_id: int, last: int
) -> Iterator[tuple[int, Event]]:
    """The wanted rows of an event table up to the sequence `last`, each page in a transaction of its own."""
    at, column = 0, table.c
    ordered = wanted.where(column.session_id == session_id, column.sequence <= last)
    ordered = ordered.order_by(column.sequence).limit(PAGE_ROWS)
    while True:
        with reading(engine) as connection:
            page = connection.execute(ordered.where(column.sequence > at)).mappings().all()
        for row in page:
            yield row["sequence"], _converted(table, row, partial(event_of, table))
        if len(page) < PAGE_ROWS:
            return
        at = page[-1]["sequence"]
