"""The one connection that writes, used by the writer's thread alone."""

from collections.abc import Callable, Sequence
from itertools import groupby
from typing import TypeVar

from sqlalchemy import Connection, Engine, insert

from meterlog.records.engine import explain, for_writing
from meterlog.records.errors import NotStored
from meterlog.records.record_file import RecordFile
from meterlog.records.rows import Row

T = TypeVar("T")


class Transactions:
    def __init__(self, engine: Engine, file: RecordFile) -> None:
        self._engine = for_writing(engine)
        self._file = file
        self._connection: Connection | None = None

    def run(self, job: Callable[[Connection], T]) -> T:
        """Do the job in a transaction of its own, committed on return. NotStored, whatever the reason."""
        try:
            self._file.check()
            with self._connected().begin():
                return job(self._connected())
        except Exception as error:
            self.close()  # it may hold a half-done transaction: the next one gets a new connection
            raise NotStored(explain(error)) from error

    def close(self) -> None:
        if self._connection is not None:
            self._connection.invalidate()
            self._connection.close()
            self._connection = None

    def _connected(self) -> Connection:
        if self._connection is None:
            self._connection = self._engine.connect()
        return self._connection


def insert_rows(connection: Connection, rows: Sequence[Row]) -> None:
    """All of them, table by table, in their order within each."""
    by_table = sorted(rows, key=lambda row: row.table.name)
    for table, same in groupby(by_table, key=lambda row: row.table):
        connection.execute(insert(table), [row.values for row in same])
