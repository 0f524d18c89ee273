"""A meter that talks by itself, whatever the form of what it sends: listening, silence, nonsense."""

from collections.abc import Callable, Sequence
from typing import Protocol

from meterlog.reading import Garbled, Identity, Indication, Nanoseconds, Unanswered, Wire
from meterlog_drivers.period import Period

NONSENSE_BYTES = 400
FIRST_LEAST_S = 5.0


class Stream(Protocol):
    """Bytes in, indications out. misfit: why the last piece that looked whole gave none."""

    bytes_since_good: int
    misfit: str

    def feed(self, data: bytes, at_ns: int) -> list[Indication]:
        """Never raises; b"" tells that time has passed."""


class TalkingMeter:
    """See `meterlog.reading.Meter`. longest_wait_s: how often a stream that needs it is told the time."""

    def __init__(
        self,
        wire: Wire,
        monotonic_ns: Nanoseconds,
        new_stream: Callable[[], Stream],
        identity: Identity,
        period_s: float,
        *,
        advice: str,
        longest_wait_s: float = 3600.0,
    ) -> None:
        self.identity = identity
        self.period_s = period_s
        self._wire = wire
        self._monotonic_ns = monotonic_ns
        self._new_stream = new_stream
        self._stream = new_stream()
        self._period = Period(period_s)
        self._advice = advice
        self._longest_wait_s = longest_wait_s
        self._first: list[Indication] = []

    def wait_for_first(self) -> None:
        """Keep what comes first for the first poll. Raises Unanswered, Garbled, WireLost."""
        wait_s = max(FIRST_LEAST_S, 5.0 * self.period_s)
        self._first = self._listen(wait_s)
        if self._first:
            return
        if self._stream.bytes_since_good:
            raise Garbled(f"bytes came within {wait_s:g} s, but no reading: {self._why()}")
        raise Unanswered(
            f"nothing came within {wait_s:g} s: is the meter on, its sending switched on, the lead seated?"
        )

    def poll(self, wait_s: float) -> Sequence[Indication]:
        """Silence is no error here, the link calls it stale."""
        found = self._first or self._listen(wait_s)
        self._first = []
        for at_ns in sorted({indication.monotonic_ns for indication in found}):
            self.period_s = self._period.after(at_ns)
        return found

    def resynchronise(self) -> None:
        """Start afresh: the stream finds the next beginning by itself."""
        self._wire.drop_input()
        self._stream = self._new_stream()

    def close(self) -> None:
        """Nothing to give back: the meter was never taken from its front panel."""

    def _listen(self, wait_s: float) -> list[Indication]:
        deadline_ns = self._monotonic_ns() + round(wait_s * 1e9)
        while True:
            left_s = max(0.0, (deadline_ns - self._monotonic_ns()) / 1e9)
            data = self._wire.read(min(left_s, self._longest_wait_s))
            found = self._stream.feed(data, self._monotonic_ns())
            self._refuse_nonsense()
            if found or self._monotonic_ns() >= deadline_ns:
                return found

    def _refuse_nonsense(self) -> None:
        count, why = self._stream.bytes_since_good, self._why()
        if count >= NONSENSE_BYTES:
            self._stream = self._new_stream()
            raise Garbled(f"{count} bytes without a reading: {why}")

    def _why(self) -> str:
        return f"{self._stream.misfit}; {self._advice}" if self._stream.misfit else self._advice
