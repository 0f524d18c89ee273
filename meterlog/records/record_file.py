"""The file that is being written: whether it is still the one at its path, its log, and the room left."""

import shutil
from pathlib import Path

from meterlog.records.errors import NotStored

Identity = tuple[int, int]


class RecordFile:
    """SQLite goes on writing into a file that was removed or replaced, and nobody would ever find it."""

    def __init__(self, path: Path) -> None:
        self.path = path
        self._opened = _identity(path)

    @property
    def replaced(self) -> bool:
        return _identity(self.path) != self._opened

    def check(self) -> None:
        """NotStored if another file, or none, lies at the path."""
        if self.replaced:
            raise NotStored(
                f"{self.path} was removed or replaced by another program; put the file back where it was"
            )

    @property
    def log_bytes(self) -> int:
        """Size of the write-ahead log. It grows without end only while some program keeps reading."""
        log = self.path.with_name(self.path.name + "-wal")
        try:
            return log.stat().st_size
        except OSError:
            return 0

    @property
    def free_bytes(self) -> int | None:
        """Room on the disk; None if the folder is gone."""
        try:
            return shutil.disk_usage(self.path.parent).free
        except OSError:
            return None


def _identity(path: Path) -> Identity | None:
    try:
        found = path.stat()
    except OSError:
        return None
    return found.st_dev, found.st_ino
