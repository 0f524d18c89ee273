"""Lists, single sessions, and reading a session that goes on being written."""

from contextlib import nullcontext

import pytest
from sqlalchemy import Engine, event, func, select

from meterlog.accuracy import Verdict
from meterlog.procedure.events import Acted, ActionKind, SessionEnded, Ticked
from meterlog.records import (
    RecordsError,
    Writer,
    iter_events,
    iter_readings,
    last_moment,
    list_sessions,
    load_session,
    queries,
    schema,
    unfinished_session,
)
from meterlog.records.engine import database_file, reading
from meterlog.records.record_file import RecordFile
from tests.records import samples


def _end(writer: Writer, session: int, verdict: Verdict = Verdict.PASS) -> None:
    writer.event(session, 1, Acted(9, ActionKind.GO_ON))
    writer.commit(session, 1, [SessionEnded(verdict=verdict, at_ns=9)])


def test_sessions_are_listed_from_the_newest(engine: Engine, writer: Writer) -> None:
    for verdict in (Verdict.PASS, Verdict.FAIL):
        _end(writer, writer.begin_session(samples.START), verdict)
    writer.begin_session(samples.START)
    listed = list_sessions(engine)
    assert [(one.id, one.ended and one.ended.verdict) for one in listed] == [
        (3, None),
        (2, Verdict.FAIL),
        (1, Verdict.PASS),
    ]
    assert listed[0].procedure_title == "Alignment"
    assert (listed[1].unit_model, listed[1].unit_serial) == ("Two-track recorder", "0042")


def test_only_the_newest_session_can_be_unfinished(engine: Engine, writer: Writer) -> None:
    assert unfinished_session(engine) is None
    given_up = writer.begin_session(samples.START)
    assert unfinished_session(engine) == given_up
    newest = writer.begin_session(samples.START)
    assert unfinished_session(engine) == newest
    _end(writer, newest)
    assert unfinished_session(engine) is None


def test_a_session_that_is_not_there(engine: Engine, writer: Writer) -> None:
    with pytest.raises(RecordsError, match="no session 4; none has been recorded yet"):
        load_session(engine, 4)
    writer.begin_session(samples.START)
    with pytest.raises(RecordsError, match="no session 4; there is only session 1"):
        iter_events(engine, 4)
    writer.begin_session(samples.START)
    with pytest.raises(RecordsError, match="no session 4; choose one from 1 to 2"):
        iter_readings(engine, 4)


def test_readings_of_a_channel_between_two_moments(engine: Engine, writer: Writer) -> None:
    session, other = (writer.begin_session(samples.START) for _ in range(2))
    given = [
        samples.measured(100 * number, channel="output" if number % 2 else "panel") for number in range(1, 21)
    ]
    for sequence, one in enumerate(given, 1):
        writer.event(session, sequence, one)
    writer.event(other, 1, samples.measured(500))
    writer.flush()
    assert list(iter_readings(engine, session)) == given
    assert list(iter_readings(engine, session, "panel")) == given[1::2]
    assert list(iter_readings(engine, session, from_ns=500, to_ns=900)) == given[4:8]
    assert list(iter_readings(engine, session, "output", from_ns=501)) == given[6::2]
    assert list(iter_readings(engine, session, "absent")) == []


@pytest.mark.parametrize("count", [0, 1, 6, 7, 8, 21])
def test_pages_join_without_a_seam(
    engine: Engine, writer: Writer, monkeypatch: pytest.MonkeyPatch, count: int
) -> None:
    monkeypatch.setattr(queries, "PAGE_ROWS", 7)
    session = writer.begin_session(samples.START)
    given = [samples.measured(at_ns) for at_ns in range(count)]
    for sequence, one in enumerate(given, 1):
        writer.event(session, sequence, one)
    writer.flush()
    assert list(iter_readings(engine, session)) == given
    assert list(iter_events(engine, session)) == list(enumerate(given, 1))


def test_events_end_where_the_session_stood_at_the_call(
    engine: Engine, writer: Writer, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Else an action that was stored meanwhile could come before the readings that preceded it."""
    monkeypatch.setattr(queries, "PAGE_ROWS", 2)
    session = writer.begin_session(samples.START)
    for sequence in range(1, 6):
        writer.event(session, sequence, samples.measured(sequence))
    writer.flush()
    events = iter_events(engine, session)
    next(events)
    writer.event(session, 6, samples.measured(6))
    writer.event(session, 7, Ticked(7))
    writer.flush()
    assert [sequence for sequence, _ in events] == [2, 3, 4, 5]
    assert last_moment(engine, session) == (7, 7)


@pytest.mark.parametrize("holds", [False, True], ids=["pauses between pages", "holds a transaction"])
def test_only_an_open_transaction_makes_the_log_grow(
    engine: Engine, writer: Writer, monkeypatch: pytest.MonkeyPatch, holds: bool
) -> None:
    """It keeps SQLite from beginning its log anew (sqlite.org, "Write-Ahead Logging", "Avoiding
    Excessively Large WAL Files"); the second case shows that the first could fail."""
    monkeypatch.setattr(queries, "PAGE_ROWS", 10)
    event.listen(engine, "begin", lambda one: one.exec_driver_sql("PRAGMA wal_autocheckpoint = 20"))
    session = writer.begin_session(samples.START)

    def write(first: int, last: int) -> None:
        for sequence in range(first, last):
            writer.event(session, sequence, samples.measured(sequence))
            if sequence % 100 == 0:
                writer.flush()
        writer.flush()

    write(1, 1000)
    paused = iter_readings(engine, session)
    next(paused)
    with reading(engine) if holds else nullcontext() as connection:
        if connection is not None:
            connection.execute(select(func.count()).select_from(schema.readings)).all()
        write(1000, 10_000)
        log_bytes = RecordFile(database_file(engine)).log_bytes
    assert (log_bytes > 400_000) == holds
    assert len(list(paused)) == 998
