"""The writer: what `commit` promises, order, batches, and what it refuses."""

import threading
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import pytest
from sqlalchemy import Engine, event

from meterlog.procedure.events import Acted, ActionKind, Ticked
from meterlog.records import (
    NotStored,
    RecordsError,
    Writer,
    iter_events,
    last_moment,
    list_sessions,
    load_session,
)
from meterlog.records.engine import database_file, for_writing, open_engine
from tests.records import samples

PATIENCE_S = 60.0  # the machine may be busy; nothing waits this long when all is well


def eventually(condition: Callable[[], bool]) -> bool:
    deadline_s = time.monotonic() + PATIENCE_S
    while not condition():
        if time.monotonic() > deadline_s:
            return False
        time.sleep(0.01)
    return True


@contextmanager
def counted_commits(engine: Engine) -> Iterator[list[int]]:
    """Grows by one with every transaction that is committed."""
    commits: list[int] = []

    def note(_: object) -> None:
        commits.append(1)

    event.listen(engine, "commit", note)
    yield commits
    event.remove(engine, "commit", note)


def test_what_was_committed_is_seen_by_another_program(engine: Engine, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    other = open_engine(database_file(engine))
    for number in range(1, 30):
        writer.event(session, number, samples.measured(number))
        writer.commit(session, number, [samples.settled(number)])
        assert load_session(other, session).settled_values[-1] == samples.settled(number)
        assert last_moment(other, session) == (number, number)
    other.dispose()


def test_commit_does_not_return_before_the_disk_has_it(engine: Engine, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    writer.event(session, 1, samples.measured(1))
    committing = threading.Thread(target=writer.commit, args=(session, 1, [samples.settled(1)]))
    with for_writing(engine).begin():  # nobody else can write now
        committing.start()
        committing.join(0.5)
        assert committing.is_alive()
        assert load_session(engine, session).outcomes == ()
    committing.join(PATIENCE_S)
    assert not committing.is_alive()
    assert load_session(engine, session).settled_values == (samples.settled(1),)


def test_a_value_and_what_it_rests_on_are_one_transaction(engine: Engine) -> None:
    writer = Writer(engine, batch_s=PATIENCE_S)
    session = writer.begin_session(samples.START)
    with counted_commits(engine) as commits:
        for number in range(1, 1001):
            writer.event(session, number, samples.measured(number))
        writer.commit(session, 1000, [samples.settled(1), samples.settled(2)])
        assert len(commits) == 1
    assert [sequence for sequence, _ in iter_events(engine, session)] == list(range(1, 1001))
    writer.close()


def test_readings_reach_the_disk_without_being_asked(engine: Engine, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    writer.event(session, 1, samples.measured(1))
    assert eventually(lambda: last_moment(engine, session) == (1, 1))


def test_events_of_three_kinds_keep_one_order(engine: Engine, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    kinds = (samples.measured, Ticked, lambda at_ns: Acted(at_ns, ActionKind.NOTE, f"at {at_ns}"))
    given = [(3 * number, kinds[number % 3](number)) for number in range(1, 200)]
    for sequence, one in given:
        writer.event(session, sequence, one)
    writer.flush()
    assert list(iter_events(engine, session)) == given


def test_threads_may_share_a_writer(engine: Engine, writer: Writer) -> None:
    sessions = [writer.begin_session(samples.START) for _ in range(3)]

    def record(session: int) -> None:
        for number in range(1, 101):
            writer.event(session, number, samples.measured(number))
            if number % 10 == 0:
                writer.commit(session, number, [samples.settled(number)])

    threads = [threading.Thread(target=record, args=(session,)) for session in sessions]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join(PATIENCE_S)
    for session in sessions:
        assert len(list(iter_events(engine, session))) == 100
        assert [value.number for value in load_session(engine, session).settled_values] == [
            *range(10, 101, 10)
        ]


def test_actions_are_stamped_with_the_wall_clock(engine: Engine) -> None:
    writer = Writer(engine, utc_ns=lambda: 1_790_000_000_123_456_789)
    session = writer.begin_session(samples.START)
    writer.event(session, 1, Acted(5, ActionKind.GO_ON))
    writer.close()
    with engine.begin() as connection:
        assert connection.exec_driver_sql("SELECT at_ns, time_ns FROM actions").all() == [
            (5, 1_790_000_000_123_456_789)
        ]


def test_a_session_goes_on_in_another_run(engine: Engine, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    writer.event(session, 1, samples.measured(1))
    writer.close()
    later = Writer(engine)
    with pytest.raises(ValueError, match=f"event 1 of session {session} comes out of order"):
        later.event(session, 1, samples.measured(2))
    later.event(session, 2, Acted(2, ActionKind.INTERRUPTED))
    later.commit(session, 2, [])
    later.close()
    assert last_moment(engine, session) == (2, 2)


def test_events_out_of_order_are_refused(engine: Engine, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    writer.event(session, 5, Ticked(1))
    for sequence in (5, 4, 0, -1):
        with pytest.raises(ValueError, match="out of order"):
            writer.event(session, sequence, Ticked(2))
    with pytest.raises(ValueError, match="not the last one queued"):
        writer.commit(session, 4, [samples.settled(1)])
    writer.commit(session, 5, [])
    assert last_moment(engine, session) == (5, 1)


def test_an_unknown_session_is_refused_and_harms_no_other(engine: Engine, writer: Writer) -> None:
    session = writer.begin_session(samples.START)
    with pytest.raises(RecordsError, match=f"no session 99; there is only session {session}"):
        writer.event(99, 1, Ticked(1))
    writer.event(session, 1, Ticked(1))
    writer.flush()
    assert last_moment(engine, session) == (1, 1)


def test_a_closed_writer_says_so(engine: Engine) -> None:
    writer = Writer(engine)
    session = writer.begin_session(samples.START)
    writer.event(session, 1, Ticked(1))
    writer.close()
    writer.close()
    assert not writer.status().alive
    assert last_moment(engine, session) == (1, 1)
    for late in (
        lambda: writer.event(session, 2, Ticked(2)),
        lambda: writer.begin_session(samples.START),
    ):
        with pytest.raises(RecordsError, match="closed; start the daemon again"):
            late()


def test_the_status_of_a_healthy_writer(writer: Writer) -> None:
    before = writer.status()
    writer.begin_session(samples.START)
    after = writer.status()
    assert (before.stored_age_s, before.alive) == (None, True)
    assert after.stored_age_s is not None
    assert after.stored_age_s >= 0.0
    assert (after.pending, after.refused, after.error, after.file_replaced) == (0, 0, "", False)
    assert after.log_bytes > 0
    assert after.free_bytes is not None
    assert after.free_bytes > 0


def test_readings_beyond_the_bound_are_refused_but_no_action(engine: Engine) -> None:
    writer = Writer(engine, batch_s=PATIENCE_S, most_readings=3)
    session = writer.begin_session(samples.START)
    for number in (1, 2, 3):
        writer.event(session, number, samples.measured(number))
    with pytest.raises(NotStored, match="3 readings wait for the disk already; this one is refused"):
        writer.event(session, 4, samples.measured(4))
    assert writer.status().refused == 1
    writer.event(session, 4, Acted(4, ActionKind.GO_ON))
    writer.commit(session, 4, [samples.settled(1)])
    writer.event(session, 5, samples.measured(5))  # there is room again
    writer.close()
    assert [sequence for sequence, _ in iter_events(engine, session)] == [1, 2, 3, 4, 5]


def test_a_session_that_could_not_begin_leaves_nothing(engine: Engine, writer: Writer) -> None:
    def refuse(_: object) -> None:
        raise OSError("the cable is out")

    event.listen(engine, "begin", refuse, insert=True)
    with pytest.raises(NotStored, match="the cable is out; try again"):
        writer.begin_session(samples.START)
    event.remove(engine, "begin", refuse)
    assert list_sessions(engine) == []
    assert writer.begin_session(samples.START) == 1
