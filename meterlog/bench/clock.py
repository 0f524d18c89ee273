"""The one clock of the bench: monotonic for every duration, UTC only to stamp."""

import time
from dataclasses import dataclass
from typing import Protocol


class Clock(Protocol):
    """Nanoseconds of both kinds. A step of the wall clock moves `utc_ns` alone."""

    def monotonic_ns(self) -> int:
        """Never goes back; only differences mean something."""

    def utc_ns(self) -> int:
        """Since 1970-01-01T00:00Z; may jump either way."""


@dataclass(frozen=True, slots=True)
class SystemClock:
    """The clock of this computer."""

    def monotonic_ns(self) -> int:
        return time.monotonic_ns()

    def utc_ns(self) -> int:
        return time.time_ns()


def slept_ns() -> int:
    """How long this computer has slept since it was started, by the clock that goes on meanwhile; the
    monotonic one stands still. 0 where the system has no such clock."""
    if not hasattr(time, "CLOCK_BOOTTIME"):
        return 0
    awake_ns = time.clock_gettime_ns(time.CLOCK_MONOTONIC)
    return time.clock_gettime_ns(time.CLOCK_BOOTTIME) - awake_ns


def utc_of(monotonic_ns: int, clock: Clock) -> int:
    """The wall time of a monotonic moment, by what both clocks say now."""
    return clock.utc_ns() - (clock.monotonic_ns() - monotonic_ns)
