"""The session's time line: nanoseconds since it began, by the monotonic clock, carried on across restarts."""

from dataclasses import dataclass

_LEAST_AWAY_NS = 1_000_000


@dataclass(frozen=True, slots=True)
class Timeline:
    """`start_ns` on the session's line is `monotonic_ns` on the clock of this process."""

    monotonic_ns: int
    start_ns: int = 0

    def at_ns(self, monotonic_ns: int) -> int:
        """A moment of the clock on the session's line."""
        return self.start_ns + monotonic_ns - self.monotonic_ns

    def covers(self, monotonic_ns: int) -> bool:
        """Whether the moment lies in this run of the session, not before it began or went on."""
        return monotonic_ns >= self.monotonic_ns

    @classmethod
    def carried_on(cls, *, last_ns: int, last_time_ns: int, time_ns: int, monotonic_ns: int) -> "Timeline":
        """After a restart. The wall clock (UTC, ns) tells how long the daemon was away; where it was set
        back meanwhile it tells nothing, and the line goes on by the least step."""
        away_ns = max(time_ns - last_time_ns, _LEAST_AWAY_NS)
        return cls(monotonic_ns, last_ns + away_ns)
