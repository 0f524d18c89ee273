"""A wire that exists only in a test."""

from collections.abc import Callable, Sequence

from meterlog.reading import WireLost
from meterlog.testing.clock import FakeClock

Chunks = Sequence[tuple[float, bytes]]
"""What comes back: seconds after the chunk before it (or after the question), bytes."""
FarEnd = Callable[[bytes], Chunks]
"""What an instrument answers to what was written in one piece."""

_MOST_CALLS_AT_ONCE = 10_000


class FakeWire:
    """The far end handles one question after the other, as an instrument does; it may be late, never early.

    unplugged  from now on every call but `close` raises WireLost
    fails_at   the number of the call that finds the wire unplugged; 0 for none
    """

    def __init__(self, clock: FakeClock | None = None, far_end: FarEnd = lambda data: ()) -> None:
        self.clock = clock or FakeClock()
        self.written: list[bytes] = []
        self.dropped = 0
        self.closed = 0
        self.calls = 0
        self.unplugged = False
        self.fails_at = 0
        self._far_end = far_end
        self._due: list[tuple[int, bytes]] = []
        self._at_once = (0, 0)

    def send(self, chunks: Chunks) -> None:
        """Let the far end say something, after what it still has to say."""
        at_ns = max([self.clock.now_ns, *(at for at, _ in self._due)])
        for after_s, data in chunks:
            at_ns += round(after_s * 1e9)
            self._due.append((at_ns, data))

    @property
    def is_quiet(self) -> bool:
        """Nothing more is to come."""
        return not self._due

    def read(self, wait_s: float) -> bytes:
        self._called()
        until_ns = self.clock.now_ns + max(0, round(wait_s * 1e9))
        first_ns = min((at for at, data in self._due if data), default=until_ns + 1)
        self.clock.now_ns = max(self.clock.now_ns, min(first_ns, until_ns))
        return self._take()

    def write(self, data: bytes) -> None:
        self._called()
        self.written.append(data)
        self.send(self._far_end(data))

    def drop_input(self) -> None:
        self._called()
        self.dropped += 1
        self._take()

    def close(self) -> None:
        self.closed += 1
        self._due.clear()

    def _take(self) -> bytes:
        now_ns = self.clock.now_ns
        came = b"".join(data for at, data in self._due if at <= now_ns)
        self._due = [(at, data) for at, data in self._due if at > now_ns]
        return came

    def _called(self) -> None:
        self.calls += 1
        self.unplugged = self.unplugged or self.calls == self.fails_at
        if self.unplugged:
            raise WireLost("the fake wire is unplugged")
        self._refuse_spinning()

    def _refuse_spinning(self) -> None:
        """A driver that never waits uses up a processor; here it would hang, as only waiting passes time."""
        at_ns, count = self._at_once
        count = count + 1 if at_ns == self.clock.now_ns else 1
        self._at_once = (self.clock.now_ns, count)
        if count > _MOST_CALLS_AT_ONCE:
            raise AssertionError(f"{count} calls of the wire without waiting: let wire.read(seconds) wait")
