"""The writer: one thread that owns the one connection that writes.

Events are queued and written in batches. `commit` returns only when the outcomes, and every event that they
rest on, are on disk in one transaction; then, and not before, may they be announced. Whatever the disk does
not take stays in memory and is tried again.

    open ── rows wait, or somebody does ──> writing ── committed ──> open
                                               └── failed ──> pause of retry_s ──> writing
"""

import threading
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future
from dataclasses import dataclass
from itertools import groupby

from sqlalchemy import Connection, Engine, insert

from meterlog.procedure.events import Event, Outcome
from meterlog.records.backlog import Backlog
from meterlog.records.beginning import insert_session
from meterlog.records.engine import database_file, explain, for_writing
from meterlog.records.errors import NotStored, RecordsError
from meterlog.records.queries import last_moment
from meterlog.records.record_file import RecordFile
from meterlog.records.rows import Row, event_row, instrument_row, outcome_rows
from meterlog.records.session import Instrument, SessionStart

Job = Callable[[Connection], int]


@dataclass(frozen=True, slots=True, kw_only=True)
class WriterStatus:
    """For the person who looks after the daemon.

    pending        rows that wait for the disk; refused: readings that found no room in memory
    stored_age_s   since the last commit, None before the first
    error          why the last attempt failed, "" if it did not
    file_replaced  the file at the path is not the one that is being written
    log_bytes      size of the write-ahead log; free_bytes: room on the disk
    alive          the thread runs
    """

    pending: int
    refused: int
    stored_age_s: float | None
    error: str
    file_replaced: bool
    log_bytes: int
    free_bytes: int
    alive: bool


class Writer:
    """Give it events in their order, before anything is announced; all methods may be called by any thread.

    batch_s, retry_s   longest wait of a reading for its batch, and pause after a failure
    most_readings      readings that may wait in memory (some hours of a bench while the disk is full)
    utc_ns             stamps actions
    """

    def __init__(
        self,
        engine: Engine,
        *,
        batch_s: float = 0.25,
        retry_s: float = 1.0,
        most_readings: int = 200_000,
        utc_ns: Callable[[], int] = time.time_ns,
    ) -> None:
        self._engine = engine
        self._file = RecordFile(database_file(engine))
        self._batch_s, self._retry_s, self._utc_ns = batch_s, retry_s, utc_ns
        self._backlog = Backlog(most_readings)
        self._jobs: list[tuple[Job, Future[int]]] = []
        self._last_event: dict[int, int] = {}
        self._last_commit: dict[int, int] = {}
        self._change = threading.Condition()
        self._urgent = self._closing = False
        self._error = ""
        self._failures = 0
        self._tried = 0  # how far the last failed attempt reached, as a count of rows
        self._stored_s: float | None = None
        self._connection: Connection | None = None
        self._thread = threading.Thread(target=self._run, name="meterlog writer", daemon=True)
        self._thread.start()

    # -- what others call -----------------------------------------------------------------------

    def begin_session(self, start: SessionStart) -> int:
        """Its number, once it is on disk. NotStored: it was not begun, nothing of it is kept; ask again."""
        number = self._ask(lambda connection: insert_session(connection, start))
        with self._change:
            self._last_event[number] = 0
        return number

    def instrument(self, session_id: int, instrument: Instrument) -> None:
        """Queue who a meter says it is. RecordsError: no such session."""
        self._know(session_id)
        self._queue([instrument_row(session_id, instrument)])

    def event(self, session_id: int, sequence: int, event: Event) -> None:
        """Queue one event; to be called before the engine gets a reading.

        NotStored: no room; then the engine must not get the reading either. RecordsError: no such session,
        or a number that no database keeps. ValueError: a sequence not beyond the last one.
        """
        row = event_row(session_id, sequence, event, self._utc_ns())
        self._know(session_id)
        with self._change:
            if sequence <= self._last_event[session_id]:
                raise ValueError(f"event {sequence} of session {session_id} comes out of order")
            self._add([row])
            self._last_event[session_id] = sequence

    def commit(self, session_id: int, sequence: int, outcomes: Sequence[Outcome]) -> None:
        """Return when these outcomes of the event `sequence`, and all that was queued, are on disk.

        NotStored: not yet; nothing may be announced. They are kept and tried again: call `flush` until it
        returns, or this again, which does not add them twice. ValueError: the event was not queued last.
        """
        rows = outcome_rows(session_id, sequence, outcomes)
        with self._change:
            if sequence != self._last_event.get(session_id):
                raise ValueError(f"event {sequence} of session {session_id} is not the last one queued")
            if sequence != self._last_commit.get(session_id):
                self._add(rows)
                self._last_commit[session_id] = sequence
            self._wait_until_stored()

    def flush(self) -> None:
        """Return when all that was queued is on disk. NotStored: the next attempt failed too."""
        with self._change:
            self._wait_until_stored()

    def status(self) -> WriterStatus:
        with self._change:
            return WriterStatus(
                pending=len(self._backlog),
                refused=self._backlog.refused,
                stored_age_s=None if self._stored_s is None else time.monotonic() - self._stored_s,
                error=self._error,
                file_replaced=self._file.replaced,
                log_bytes=self._file.log_bytes,
                free_bytes=self._file.free_bytes,
                alive=self._thread.is_alive(),
            )

    def close(self, timeout_s: float = 30.0) -> None:
        """Write what waits and end. NotStored: rows were left, and are lost when the process ends."""
        with self._change:
            self._closing = True
            self._change.notify_all()
        self._thread.join(timeout_s)
        if len(self._backlog):
            raise NotStored(f"{len(self._backlog)} entries could not be stored: {self._error or 'no time'}")

    # -- queue ----------------------------------------------------------------------------------

    def _know(self, session_id: int) -> None:
        """Where a session stands that another run of the daemon began."""
        if session_id not in self._last_event:
            last, _ = last_moment(self._engine, session_id)
            with self._change:
                self._last_event.setdefault(session_id, last)

    def _queue(self, rows: Iterable[Row]) -> None:
        with self._change:
            self._add(rows)

    def _add(self, rows: Iterable[Row]) -> None:
        self._refuse_if_closed()
        self._backlog.add(rows)

    def _refuse_if_closed(self) -> None:
        if self._closing:
            raise RecordsError("the record is closed; start the daemon again")

    def _ask(self, job: Job) -> int:
        """Run a job on the writer's connection, after all that waits."""
        reply: Future[int] = Future()
        with self._change:
            self._refuse_if_closed()
            self._jobs.append((job, reply))
            self._hurry()
        return reply.result()

    def _hurry(self) -> None:
        self._urgent = True
        self._change.notify_all()

    def _wait_until_stored(self) -> None:
        ticket, failures = self._backlog.queued, self._failures
        self._hurry()
        while self._backlog.stored < ticket:
            if self._failures > failures and self._tried >= ticket:
                raise NotStored(f"{self._error}; {len(self._backlog)} entries wait in memory")
            if not self._thread.is_alive():
                raise NotStored("the record is closed; start the daemon again")
            self._change.wait(1.0)

    # -- the thread -----------------------------------------------------------------------------

    def _run(self) -> None:
        while not self._finished():
            self._pause()
            self._store()
            self._do_jobs()
        self._disconnect()

    def _finished(self) -> bool:
        with self._change:
            return self._closing and not self._jobs and (not len(self._backlog) or bool(self._error))

    def _pause(self) -> None:
        """Until the batch is due or somebody waits; after a failure, the whole pause."""
        with self._change:
            if self._error:
                self._change.wait_for(lambda: self._closing, self._retry_s)
            else:
                self._change.wait_for(lambda: self._urgent or self._closing, self._batch_s)
            self._urgent = False

    def _store(self) -> None:
        with self._change:
            rows = self._backlog.rows()
        if rows or self._error:
            self._try(lambda connection: _insert(connection, rows), rows)

    def _do_jobs(self) -> None:
        with self._change:
            jobs, self._jobs = self._jobs, []
        for job, reply in jobs:
            answer = self._try(job, [])
            if answer is None:
                reply.set_exception(NotStored(f"{self._error}; try again"))
            else:
                reply.set_result(answer)

    def _try(self, job: Job, rows: Sequence[Row]) -> int | None:
        """One transaction. None if it failed; whatever the reason, the thread must go on."""
        try:
            self._file.check()
            with self._connected().begin():
                answer = job(self._connected())
        except Exception as error:  # noqa: BLE001
            self._disconnect()
            self._failed(explain(error), len(rows))
            return None
        self._succeeded(len(rows))
        return answer

    def _failed(self, error: str, count: int) -> None:
        with self._change:
            self._error = error
            self._failures += 1
            self._tried = self._backlog.stored + count
            self._change.notify_all()

    def _succeeded(self, count: int) -> None:
        with self._change:
            self._backlog.settle(count)
            self._error = ""
            self._stored_s = time.monotonic()
            self._change.notify_all()

    def _connected(self) -> Connection:
        if self._connection is None:
            self._connection = for_writing(self._engine).connect()
        return self._connection

    def _disconnect(self) -> None:
        """A connection that has failed may hold a half-done transaction: the next attempt gets a new one."""
        if self._connection is not None:
            self._connection.invalidate()
            self._connection.close()
            self._connection = None


def _insert(connection: Connection, rows: Sequence[Row]) -> int:
    for table, same in groupby(sorted(rows, key=lambda row: row.table.name), key=lambda row: row.table):
        connection.execute(insert(table), [row.values for row in same])
    return len(rows)
