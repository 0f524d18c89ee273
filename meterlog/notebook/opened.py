"""The record opened by somebody who must not change it."""

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from sqlalchemy import Connection, Engine, event

from meterlog.records import DataFolder, RecordsError, open_engine
from meterlog.records.migrate import newest_revision, revision_of


@contextmanager
def opened(folder: Path | str | None) -> Iterator[Engine]:
    """The record of a data folder, in which nothing can be written. A daemon may write it meanwhile.

    RecordsError: there is none, or it is not in the form of this version. Bringing it to that would write.
    """
    place = DataFolder(None if folder is None else Path(folder))
    if not place.database.exists():
        raise RecordsError(f"no record in {place.path}; name the folder that meterlog serve has for --data")
    engine = open_engine(place.database)
    try:
        event.listen(engine, "begin", _refuse_writing)
        _check_form(engine, place.path)
        yield engine
    finally:
        engine.dispose()


def _refuse_writing(connection: Connection) -> None:
    connection.exec_driver_sql("PRAGMA query_only = 1")


def _check_form(engine: Engine, folder: Path) -> None:
    if revision_of(engine) != newest_revision():
        raise RecordsError(
            f"the record in {folder} is of an earlier version of meterlog; bring it to this one, once, with: "
            f"meterlog sessions --data {folder}"
        )
