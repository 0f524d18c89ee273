"""The writer: one thread that owns the one connection that writes.

Events are queued and written in batches. `commit` returns only when the outcomes, and every event that they
rest on, are on disk; then, and not before, may they be announced. Whatever the disk does not take stays in
memory and is tried again, in order, so a value is never on disk without what it rests on.
"""

import threading
import time
from collections.abc import Callable, Iterable, Sequence
from concurrent.futures import Future

from sqlalchemy import Connection, Engine

from meterlog.procedure.events import Event, Outcome
from meterlog.records.backlog import Backlog
from meterlog.records.beginning import insert_bench, insert_session
from meterlog.records.engine import database_file
from meterlog.records.errors import NotStored, RecordsError
from meterlog.records.queries import last_moment
from meterlog.records.record_file import RecordFile
from meterlog.records.rows import Row, event_row, instrument_row, outcome_rows
from meterlog.records.session import BenchUsed, Instrument, SessionStart
from meterlog.records.status import WriterStatus
from meterlog.records.transactions import Transactions, insert_rows

# Of one transaction. A batch has some dozens; only what piled up behind a full disk has more, and then
# each attempt should cost little and a little room should help a little.
MOST_ROWS = 5000

Job = Callable[[Connection], int]


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
        self._transactions = Transactions(engine, self._file)
        self._batch_s, self._retry_s, self._utc_ns = batch_s, retry_s, utc_ns
        self._backlog = Backlog(most_readings)
        self._jobs: list[tuple[Job, Future[int]]] = []
        self._last_event: dict[int, int] = {}
        self._last_commit: dict[int, int] = {}
        self._change = threading.Condition()
        self._urgent = self._closing = False
        self._attempts = 0  # begun
        self._failed_attempt = 0  # the last one that failed
        self._error = ""
        self._stored_s: float | None = None
        self._thread = threading.Thread(target=self._run, name="meterlog writer", daemon=True)
        self._thread.start()

    # -- what others call -----------------------------------------------------------------------

    def begin_session(self, start: SessionStart) -> int:
        """Its number, once it is on disk. NotStored: it was not begun, nothing of it is kept; ask again."""
        number = self._ask(lambda connection: insert_session(connection, start))
        with self._change:
            self._last_event[number] = 0
        return number

    def bench(self, session_id: int, bench: BenchUsed) -> None:
        """The session goes on with this bench file; returns when that is on disk. NotStored."""
        self._ask(lambda connection: insert_bench(connection, session_id, bench))

    def instrument(self, session_id: int, instrument: Instrument) -> None:
        """Queue who a meter says it is. RecordsError: no such session."""
        self._know(session_id)
        with self._change:
            self._add([instrument_row(session_id, instrument)])

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
        self._know(session_id)
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
        replaced, log_bytes, free_bytes = self._file.replaced, self._file.log_bytes, self._file.free_bytes
        with self._change:
            return WriterStatus(
                pending=len(self._backlog),
                refused=self._backlog.refused,
                stored_age_s=None if self._stored_s is None else time.monotonic() - self._stored_s,
                error=self._error,
                file_replaced=replaced,
                log_bytes=log_bytes,
                free_bytes=free_bytes,
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
        """NotStored once an attempt has failed that was begun from now on."""
        ticket, begun = self._backlog.queued, self._attempts
        self._hurry()
        while self._backlog.stored < ticket:
            if self._failed_attempt > begun:
                raise NotStored(f"{self._error}; {len(self._backlog)} entries wait in memory")
            if not self._thread.is_alive():
                raise NotStored("the record is closed; start the daemon again")
            self._change.wait(1.0)

    # -- the thread -----------------------------------------------------------------------------

    def _run(self) -> None:
        while not self._finished():
            self._pause()
            while self._store():
                pass
            self._do_jobs()
        self._transactions.close()

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

    def _store(self) -> bool:
        """One attempt. True: it went well, and more waits than one transaction holds."""
        with self._change:
            rows = self._backlog.oldest(MOST_ROWS)
            self._attempts += 1
        if not rows and not self._error:
            return False
        try:
            self._transactions.run(lambda connection: insert_rows(connection, rows))
        except NotStored as error:
            self._failed(error)
            return False
        self._succeeded(len(rows))
        return len(rows) == MOST_ROWS

    def _failed(self, error: NotStored) -> None:
        with self._change:
            self._error = str(error)
            self._failed_attempt = self._attempts
            self._change.notify_all()

    def _succeeded(self, count: int) -> None:
        with self._change:
            self._backlog.settle(count)
            self._error = ""
            self._stored_s = time.monotonic()
            self._change.notify_all()

    def _do_jobs(self) -> None:
        with self._change:
            jobs, self._jobs = self._jobs, []
        for job, reply in jobs:
            try:
                answer = self._transactions.run(job)
            except NotStored as error:
                reply.set_exception(NotStored(f"{error}; try again"))
            else:
                self._succeeded(0)
                reply.set_result(answer)
