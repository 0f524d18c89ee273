"""Meters that take no commands, whatever the form of what they send: listening, silence, nonsense."""

from collections.abc import Callable, Sequence
from typing import Protocol

from meterlog.reading import Garbled, Identity, Indication, Nanoseconds, State, Unanswered, Wire
from meterlog_drivers.period import Period

NONSENSE_BYTES = 400
FIRST_LEAST_S = 5.0
NEVER_S = 3600.0
Sift = Callable[[list[Indication]], list[Indication]]
"""What of the readings that came is new."""


class Stream(Protocol):
    """Bytes in, indications out; never raises.

    bytes_since_good  how many came since the last good piece
    misfit            why the last piece that looked whole was none; "" where nothing can tell
    """

    bytes_since_good: int
    misfit: str

    def feed(self, data: bytes, at_ns: int) -> list[Indication]:
        """What `data`, which came at that time, completes; b"" tells that time has passed."""


class Listener:
    """Hears a stream on a wire, and has the words for what goes wrong.

    look_at  what to look at when nothing comes
    advice   what to think of when bytes come and no reading
    told_s   how often the stream is told that time passes, where it needs that
    sift     leaves out what is no new reading
    """

    def __init__(
        self,
        wire: Wire,
        monotonic_ns: Nanoseconds,
        new_stream: Callable[[], Stream],
        *,
        look_at: str,
        advice: str,
        told_s: float = NEVER_S,
        sift: Sift = list,
    ) -> None:
        self._wire = wire
        self._monotonic_ns = monotonic_ns
        self._new_stream = new_stream
        self._stream = new_stream()
        self._look_at = look_at
        self._advice = advice
        self._told_s = told_s
        self._sift = sift

    def within(self, wait_s: float) -> list[Indication]:
        """What comes within wait_s, no longer than until something has. Raises Garbled, WireLost."""
        until_ns = self._monotonic_ns() + round(wait_s * 1e9)
        left_s = wait_s
        while True:
            data = self._wire.read(min(left_s, self._told_s))
            now_ns = self._monotonic_ns()
            found = self._sift(self._stream.feed(data, now_ns))
            if self._stream.bytes_since_good >= NONSENSE_BYTES:
                raise self._nonsense()
            left_s = (until_ns - now_ns) / 1e9
            if found or left_s <= 0.0:
                return found

    def drop(self) -> None:
        """Forget what has come; the stream finds the next beginning by itself."""
        self._wire.drop_input()
        self._stream = self._new_stream()

    def nothing(self, wait_s: float) -> Garbled | Unanswered:
        """That no reading came."""
        if self._stream.bytes_since_good:
            return Garbled(f"bytes came within {wait_s:g} s, but no reading: {self._why()}")
        return Unanswered(f"nothing came within {wait_s:g} s: {self._look_at}")

    def _nonsense(self) -> Garbled:
        count, why = self._stream.bytes_since_good, self._why()
        self._stream = self._new_stream()
        return Garbled(f"{count} bytes without a reading: {why}")

    def _why(self) -> str:
        return f"{self._stream.misfit}; {self._advice}" if self._stream.misfit else self._advice


class HeardMeter:
    """What such meters share. unknown: why a sound reading may have no number, said once when it happens."""

    def __init__(self, listener: Listener, identity: Identity, period_s: float, unknown: str = "") -> None:
        self.identity = identity
        self.period_s = period_s
        self._listener = listener
        self._period = Period(period_s)
        self._unknown = unknown
        self._remarks: list[str] = []

    def remarks(self) -> Sequence[str]:
        """See `meterlog.reading.Remarks`."""
        said, self._remarks = self._remarks, []
        return said

    def close(self) -> None:
        """Nothing to give back: the meter was never taken from its front panel."""

    def _took(self, found: Sequence[Indication]) -> None:
        """Learn from readings that are about to be given."""
        for shown in found:
            self.period_s = self._period.after(shown.monotonic_ns)
            if self._unknown and shown.state is State.INVALID:
                self._remarks.append(self._unknown)
                self._unknown = ""


class TalkingMeter(HeardMeter):
    """See `meterlog.reading.Meter`: one that sends whether anyone listens or not."""

    _first: Sequence[Indication] = ()

    def wait_for_first(self) -> None:
        """Keep what comes first for the first poll. Raises Unanswered, Garbled, WireLost."""
        wait_s = max(FIRST_LEAST_S, 5.0 * self.period_s)
        self._first = self._listener.within(wait_s)
        if not self._first:
            raise self._listener.nothing(wait_s)

    def poll(self, wait_s: float) -> Sequence[Indication]:
        """Silence is no error here, the link calls it stale."""
        found = self._first or self._listener.within(wait_s)
        self._first = ()
        self._took(found)
        return found

    def resynchronise(self) -> None:
        self._listener.drop()
