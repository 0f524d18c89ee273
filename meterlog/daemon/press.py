"""Where reports are made: a process of its own, begun with the first one.

Drawing a chart holds the interpreter for up to two seconds, and in the daemon's own that would be two
seconds in which no hand is guided. What a report is made of comes from the record, so all that is handed over
is where that is.
"""

import multiprocessing
import os
import signal
import threading
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path

from meterlog.records import open_engine
from meterlog.report import Form, ReportError, write_report

_NICER = 10


class Press:
    """One report at a time. `database` is the file of the record."""

    def __init__(self, database: Path) -> None:
        self._database = database
        self._pool: ProcessPoolExecutor | None = None
        self._lock = threading.Lock()

    def write(self, session_id: int, path: Path, form: Form) -> str:
        """As `write_report`, with its errors; ReportError too if the process has ended."""
        try:
            return self._running().submit(_write, self._database, session_id, path, form).result()
        except BrokenProcessPool as error:
            self.stop()
            raise ReportError("the process that makes reports has ended; try again") from error

    def stop(self) -> None:
        with self._lock:
            pool, self._pool = self._pool, None
        if pool is not None:
            pool.shutdown(wait=False, cancel_futures=True)

    def _running(self) -> ProcessPoolExecutor:
        """Begun afresh, not forked: the daemon has threads, and they hold locks."""
        with self._lock:
            if self._pool is None:
                fresh = multiprocessing.get_context("spawn")
                self._pool = ProcessPoolExecutor(1, mp_context=fresh, initializer=_settle_in)
            return self._pool


def _settle_in() -> None:
    """In the new process: the daemon goes first, ends it, and is not outlived, however it ends."""
    os.nice(_NICER)
    signal.signal(signal.SIGINT, signal.SIG_IGN)  # from the terminal, and meant for the daemon
    threading.Thread(target=_end_with_the_daemon, daemon=True).start()


def _end_with_the_daemon() -> None:
    daemon = multiprocessing.parent_process()
    if daemon is not None:
        daemon.join()
    os._exit(1)


def _write(database: Path, session_id: int, path: Path, form: Form) -> str:
    engine = open_engine(database)
    try:
        return write_report(engine, session_id, path, form)
    finally:
        engine.dispose()
