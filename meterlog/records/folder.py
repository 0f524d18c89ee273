"""The data folder: the database and the lock that says who writes it."""

import fcntl
import logging
import os
from collections.abc import Iterator
from contextlib import contextmanager, nullcontext
from pathlib import Path
from typing import TextIO

import platformdirs
from sqlalchemy import Engine

from meterlog.records.backup import backup
from meterlog.records.engine import open_engine
from meterlog.records.errors import RecordsError
from meterlog.records.migrate import migrate, newest_revision, revision_of
from meterlog.records.soundness import refuse_damaged

_log = logging.getLogger(__name__)


class DataFolder:
    """Readers `open` it. The daemon: `with folder.hold(): engine = folder.open_checked()`.

    path  None: the place that the operating system has for the data of programs
    """

    def __init__(self, path: Path | None = None) -> None:
        self.path = (path or platformdirs.user_data_path("meterlog", appauthor=False)).absolute()
        self.database = self.path / "meterlog.sqlite3"
        self.lock = self.path / "meterlog.lock"
        self._held = False

    @contextmanager
    def hold(self) -> Iterator[None]:
        """Be the one who writes. RecordsError: another process is, and which."""
        self._make()
        with self._opened_lock() as file:
            self._lock(file.fileno())
            file.truncate(0)
            file.write(str(os.getpid()))
            file.flush()
            self._held = True
            try:
                yield
            finally:
                self._held = False
                file.truncate(0)  # the lock itself goes when the file is closed

    def open(self) -> Engine:
        """The database in the schema of this version. RecordsError: it cannot be had."""
        self._make()
        engine = open_engine(self.database)
        if revision_of(engine) != newest_revision():
            with nullcontext() if self._held else self.hold():
                self._migrate(engine)
        return engine

    def open_existing(self) -> Engine:
        """As `open`, for those who only read: RecordsError if nothing has been recorded here."""
        if not self.database.exists():
            raise RecordsError(f"no record in {self.path}; look at --data, or begin with: meterlog serve")
        return self.open()

    def open_checked(self, most_s: float = 10.0) -> Engine:
        """As `open`, after a look for damage that takes `most_s` at most. RecordsError: damaged."""
        self._make()
        unchecked = open_engine(self.database)
        try:
            if not refuse_damaged(unchecked, most_s):
                _log.warning("%s is large: only a part was checked in %g s", self.database, most_s)
        finally:
            unchecked.dispose()
        return self.open()

    def _make(self) -> None:
        try:
            self.path.mkdir(parents=True, exist_ok=True)
        except OSError as error:
            raise RecordsError(
                f"the data folder {self.path} cannot be made: {error.strerror}; "
                "choose another one with --data"
            ) from error

    def _opened_lock(self) -> TextIO:
        try:
            return self.lock.open("a+")
        except OSError as error:
            raise RecordsError(
                f"{self.lock} cannot be written: {error.strerror}; look who owns the folder, "
                "or choose another one with --data"
            ) from error

    def _lock(self, descriptor: int) -> None:
        try:
            fcntl.flock(descriptor, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except OSError as error:
            holder = self.lock.read_text() or "(it did not say which)"
            raise RecordsError(
                f"{self.path} is already in use by process {holder}; stop it, or choose another folder "
                "with --data"
            ) from error

    def _migrate(self, engine: Engine) -> None:
        """With a copy from before, once there is something to lose."""
        found = revision_of(engine)
        copy = self.path / f"meterlog-schema-{found}.sqlite3"
        if found is not None and not copy.exists():
            backup(engine, copy)
        migrate(engine)
