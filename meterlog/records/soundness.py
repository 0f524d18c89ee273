"""A look for damage. SQLite inserts happily into a damaged file; only a check of all pages shows it."""

import time

from sqlalchemy import Engine
from sqlalchemy.exc import OperationalError

from meterlog.records.engine import database_file, driver_of, reading
from meterlog.records.errors import RecordsError

_STEPS = 10_000  # of SQLite's machine between two looks at the clock: some milliseconds


def refuse_damaged(engine: Engine, most_s: float) -> bool:
    """False: not all of it could be looked at within `most_s`. RecordsError: damaged, and what to do."""
    with reading(engine) as connection:
        driver = driver_of(connection)
        deadline_s = time.monotonic() + most_s
        driver.set_progress_handler(lambda: time.monotonic() > deadline_s, _STEPS)
        try:
            (found,) = connection.exec_driver_sql("PRAGMA quick_check(1)").one()
        except OperationalError as error:
            if getattr(error.orig, "sqlite_errorname", "") != "SQLITE_INTERRUPT":
                raise
            return False
        finally:
            driver.set_progress_handler(None, 0)
    if found != "ok":
        what = " ".join(found.split())
        raise RecordsError(
            f"{database_file(engine)} is damaged ({what}); move it and its -wal and -shm files to a safe "
            "place, do not delete them, and start again: a new record begins"
        )
    return True
