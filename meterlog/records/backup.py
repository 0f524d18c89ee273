"""A whole copy of the record in one file, while the daemon may go on writing.

The database's own files must never be copied while it is open: the newest rows are in its log.
"""

import os
import sqlite3
from contextlib import closing
from pathlib import Path

from sqlalchemy import Engine
from sqlalchemy.exc import DBAPIError

from meterlog.records.engine import driver_of, explain
from meterlog.records.errors import RecordsError


def backup(engine: Engine, target: Path) -> None:
    """RecordsError: the target exists, or the copy could not be finished; then there is none."""
    if target.exists():
        raise RecordsError(f"{target} exists; a backup overwrites nothing, choose another name")
    partial = target.with_name(target.name + ".partial")
    try:
        partial.unlink(missing_ok=True)
        _copy(engine, partial)
        partial.rename(target)
    except (sqlite3.Error, DBAPIError, OSError) as error:
        partial.unlink(missing_ok=True)
        raise RecordsError(f"no backup at {target}: {explain(error)}") from error


def _copy(engine: Engine, target: Path) -> None:
    with closing(engine.raw_connection()) as connection:  # no transaction: VACUUM refuses to run in one
        driver_of(connection).execute("VACUUM INTO ?", (str(target),))
    with target.open("rb") as file:
        os.fsync(file.fileno())  # SQLite does not sync this copy itself
