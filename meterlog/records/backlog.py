"""What waits to be written, in order. No thread and no database: the writer guards it with its lock."""

from collections.abc import Iterable

from meterlog.records import schema
from meterlog.records.errors import NotStored
from meterlog.records.rows import Row


class Backlog:
    """`queued` and `stored` count rows since the beginning: a row is stored once `stored` has reached what
    `queued` was after it was added. Readings beyond `most_readings` are refused, other rows never: they are
    few, and they are what the work was for."""

    def __init__(self, most_readings: int) -> None:
        self.queued = 0
        self.stored = 0
        self.refused = 0
        self._most = most_readings
        self._rows: list[Row] = []
        self._readings = 0

    def __len__(self) -> int:
        return len(self._rows)

    def add(self, rows: Iterable[Row]) -> None:
        """NotStored: there are too many readings already; this one is not kept."""
        for row in rows:
            self._count(row)
            self._rows.append(row)
            self.queued += 1

    def oldest(self, most: int) -> list[Row]:
        """They go on waiting until `settle`."""
        return self._rows[:most]

    def settle(self, count: int) -> None:
        """The oldest `count` rows are on disk."""
        self._readings -= sum(row.table is schema.readings for row in self._rows[:count])
        del self._rows[:count]
        self.stored += count

    def _count(self, row: Row) -> None:
        if row.table is not schema.readings:
            return
        if self._readings >= self._most:
            self.refused += 1
            raise NotStored(
                f"{self._readings} readings wait for the disk already; this one is refused, "
                "and no value may rest on it"
            )
        self._readings += 1
