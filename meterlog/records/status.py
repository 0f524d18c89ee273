"""How the writer fares, for the person who looks after the daemon."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True, kw_only=True)
class WriterStatus:
    """What waits, what failed, what room there is.

    pending        rows that wait for the disk; refused: readings that found no room in memory
    stored_age_s   since the last commit, None before the first
    error          why the last attempt failed, "" if it did not
    file_replaced  the file at the path is not the one that is being written
    log_bytes      size of the write-ahead log; free_bytes: room on the disk, None if the folder is gone
    alive          the thread runs
    """

    pending: int
    refused: int
    stored_age_s: float | None
    error: str
    file_replaced: bool
    log_bytes: int
    free_bytes: int | None
    alive: bool
