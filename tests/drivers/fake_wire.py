"""A wire and a clock that exist only in the test: waiting costs no time, and every delay is exact."""

from collections.abc import Callable, Sequence

Chunks = Sequence[tuple[float, bytes]]
"""What comes back: seconds after the chunk before it (or after the question), bytes."""


class FakeClock:
    """Monotonic nanoseconds that move when someone waits."""

    def __init__(self) -> None:
        self.now_ns = 1_000_000_000

    def __call__(self) -> int:
        return self.now_ns

    def pass_s(self, seconds: float) -> None:
        self.now_ns += round(seconds * 1e9)


class FakeWire:
    """The far end handles one line after the other, as an instrument does; it may be late, never early."""

    def __init__(self, clock: FakeClock, far_end: Callable[[bytes], Chunks] = lambda line: ()) -> None:
        self.clock = clock
        self.written: list[bytes] = []
        self.dropped = 0
        self._far_end = far_end
        self._due: list[tuple[int, bytes]] = []

    def send(self, chunks: Chunks) -> None:
        """Let the far end say something, after what it still has to say."""
        at_ns = max([self.clock.now_ns, *(at for at, _ in self._due)])
        for after_s, data in chunks:
            at_ns += round(after_s * 1e9)
            self._due.append((at_ns, data))

    def read(self, wait_s: float) -> bytes:
        until_ns = self.clock.now_ns + round(wait_s * 1e9)
        first_ns = min((at for at, data in self._due if data), default=until_ns + 1)
        self.clock.now_ns = max(self.clock.now_ns, min(first_ns, until_ns))
        return self._take()

    def write(self, data: bytes) -> None:
        """The drivers send whole lines; each is answered by itself."""
        assert data.endswith((b"\n", b"\r"))
        for line in data.splitlines(keepends=True):
            self.written.append(line)
            self.send(self._far_end(line))

    def drop_input(self) -> None:
        self.dropped += 1
        self._take()

    def close(self) -> None:
        self._due.clear()

    def _take(self) -> bytes:
        now_ns = self.clock.now_ns
        came = b"".join(data for at, data in self._due if at <= now_ns)
        self._due = [(at, data) for at, data in self._due if at > now_ns]
        return came
