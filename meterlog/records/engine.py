"""Opening the database. All that is particular to SQLite's way of locking and syncing stands here.

Every connection carries the same pragmas, set and read back: SQLite keeps most of them per connection and
ignores those it does not know. Readers begin plainly; writers (`for_writing`) begin with BEGIN IMMEDIATE,
because a transaction that reads first and writes later fails at once, whatever the busy timeout, when
another one has written in between (SQLite, "Isolation In SQLite" and "Result codes": SQLITE_BUSY_SNAPSHOT).
"""

import sqlite3
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import URL, Connection, Engine, PoolProxiedConnection, create_engine, event, make_url
from sqlalchemy.exc import DBAPIError

from meterlog.records.errors import RecordsError
from meterlog.records.file_system import refuse_network_share

BUSY_TIMEOUT_MS = 5000
PRAGMAS: dict[str, int | str] = {
    "busy_timeout": BUSY_TIMEOUT_MS,
    "journal_mode": "wal",
    "synchronous": 2,  # FULL: each commit is synced, so what was announced outlives a power cut
    "foreign_keys": 1,
    "journal_size_limit": 16 * 2**20,
}

_EXPLAINED = {
    "SQLITE_FULL": "the disk is full; free some space",
    "SQLITE_IOERR": "the disk reports an error; look at the disk or card, and copy the data folder",
    "SQLITE_READONLY": "the file or its folder is read-only; give write permission or remount the disk",
    "SQLITE_BUSY": "another program holds the file; close it",
    "SQLITE_CANTOPEN": "the file cannot be opened; look whether it is there and who may write to its folder",
    "SQLITE_CORRUPT": "the file is damaged; move it and its -wal and -shm files to a safe place, start again",
    "SQLITE_NOTADB": "the file is no SQLite database; move it away and start again",
}


def open_engine(target: Path | str) -> Engine:
    """The database at a path or sqlite URL; an absent file is created, empty.

    RecordsError: another kind of database, a network share, or a file that cannot be opened.
    """
    path = _path(target)
    refuse_network_share(path)
    _create(path)
    engine = create_engine(URL.create("sqlite", database=str(path)), creator=lambda: _connect(path))
    event.listen(engine, "connect", lambda connection, _: _prepare(connection))
    event.listen(engine, "begin", _begin)
    with reading(engine):
        return engine


def for_writing(engine: Engine) -> Engine:
    """The same engine, whose transactions hold the write lock from their beginning."""
    return engine.execution_options(writes=True)


@contextmanager
def reading(engine: Engine) -> Iterator[Connection]:
    """One short read transaction. RecordsError in place of the database's own errors."""
    try:
        with engine.begin() as connection:
            yield connection
    except DBAPIError as error:
        raise RecordsError(f"the record {database_file(engine)} cannot be used: {explain(error)}") from error


def driver_of(connection: Connection | PoolProxiedConnection) -> sqlite3.Connection:
    """The driver's connection, for what SQLAlchemy has no words for. Its errors are sqlite3.Error."""
    pooled = connection.connection if isinstance(connection, Connection) else connection
    driver = pooled.driver_connection
    assert isinstance(driver, sqlite3.Connection)
    return driver


def database_file(engine: Engine) -> Path:
    return Path(str(engine.url.database))


def explain(error: Exception) -> str:
    """What to do about an error of the database, or its own words where there is nothing better to say."""
    original = error.orig if isinstance(error, DBAPIError) else error
    name = getattr(original, "sqlite_errorname", "")
    told = next((text for code, text in _EXPLAINED.items() if name.startswith(code)), "")
    return f"{told} ({original})" if told else str(original)


def _path(target: Path | str) -> Path:
    if isinstance(target, Path) or "://" not in target:
        return Path(target).absolute()
    url = make_url(target)
    if url.get_backend_name() != "sqlite" or not url.database:
        raise RecordsError(
            f"{url.render_as_string()} is no SQLite file; write a path, or sqlite:////absolute/path.sqlite3"
        )
    return Path(url.database).absolute()


def _create(path: Path) -> None:
    try:
        path.touch(exist_ok=True)
    except OSError as error:
        raise RecordsError(
            f"the record {path} cannot be created: {error.strerror}; choose another folder or its permissions"
        ) from error


def _connect(path: Path) -> sqlite3.Connection:
    """mode=rw: were the file removed meanwhile, SQLite would quietly begin an empty one in its place."""
    return sqlite3.connect(
        f"{path.as_uri()}?mode=rw",
        uri=True,
        isolation_level=None,  # the driver's own BEGIN comes too late: not before a SELECT
        check_same_thread=False,
        timeout=BUSY_TIMEOUT_MS / 1000,
    )


def _prepare(connection: sqlite3.Connection) -> None:
    for name, wanted in PRAGMAS.items():
        connection.execute(f"PRAGMA {name} = {wanted}")
        (got,) = connection.execute(f"PRAGMA {name}").fetchone()
        if got != wanted:
            raise RecordsError(f"SQLite did not take {name} = {wanted} (it says {got}); use a local disk")


def _begin(connection: Connection) -> None:
    writes = connection.get_execution_options().get("writes", False)
    connection.exec_driver_sql("BEGIN IMMEDIATE" if writes else "BEGIN")
