"""Two kinds of hand-held meters: one talks by itself, the other must be asked for each reading."""

from collections.abc import Sequence
from dataclasses import replace

from meterlog.reading import (
    Garbled,
    Identity,
    Indication,
    Meter,
    Nanoseconds,
    State,
    Unanswered,
    Wire,
)
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.repeats import Repeats
from meterlog_drivers.period import Period

FIRST_FRAME_S = 5.0
NONSENSE_BYTES = 200
HUSHES = 5
"""How many answers' time a meter that is asked may go on talking before it is given up."""


def connected(kind: Format, wire: Wire, monotonic_ns: Nanoseconds) -> Meter:
    """A meter that has been heard. Raises Unanswered, Garbled, WireLost."""
    if kind.question:
        asked = AskedMeter(kind, wire, monotonic_ns)
        asked.resynchronise()
        return asked
    talking = TalkingMeter(kind, wire, monotonic_ns)
    talking.wait_for_first()
    return talking


class _Handheld:
    """What both have: a decoder that hears the wire for a while, and the words for what goes wrong."""

    def __init__(self, kind: Format, wire: Wire, monotonic_ns: Nanoseconds) -> None:
        self.identity = identity_of(kind)
        self.period_s = kind.period_s
        self._kind = kind
        self._wire = wire
        self._monotonic_ns = monotonic_ns
        self._decoder = kind.decoder()
        self._period = Period(kind.period_s)
        self._to_say = [kind.unknown] if kind.unknown else []
        self._remarks: list[str] = []

    def remarks(self) -> Sequence[str]:
        """See `meterlog.reading.Remarks`."""
        said, self._remarks = self._remarks, []
        return said

    def close(self) -> None:
        """Nothing to give back: the meter was never taken from its front panel."""

    def _hear(self, until_ns: int) -> tuple[list[Indication], bool]:
        """What the next bytes before a time showed, and whether that time has come. Raises Garbled."""
        left_s = max(0.0, (until_ns - self._monotonic_ns()) / 1e9)
        found = self._decoder.feed(self._wire.read(left_s), self._monotonic_ns())
        self._refuse_nonsense()
        return found, self._monotonic_ns() >= until_ns

    def _after(self, wait_s: float) -> int:
        return self._monotonic_ns() + round(wait_s * 1e9)

    def _took(self, found: Sequence[Indication]) -> None:
        """Learn from readings that are about to be given."""
        for shown in found:
            self.period_s = self._period.after(shown.monotonic_ns)
            if shown.state is State.INVALID and self._to_say:
                self._remarks.append(self._to_say.pop())

    def _refuse_nonsense(self) -> None:
        count = self._decoder.bytes_since_frame
        if count >= NONSENSE_BYTES:
            self._decoder = self._kind.decoder()
            raise Garbled(f"{count} bytes without a frame: {self._wrong_line()}")

    def _nothing(self, wait_s: float) -> Garbled | Unanswered:
        if self._decoder.bytes_since_frame:
            return Garbled(f"no frame within {wait_s:g} s, though bytes came: {self._wrong_line()}")
        return Unanswered(f"nothing came within {wait_s:g} s: {self._kind.look_at}")

    def _wrong_line(self) -> str:
        return (
            f"wrong speed or format? These meters send at {self._kind.sends}; "
            "another kind needs another driver"
        )


class TalkingMeter(_Handheld):
    """A meter that sends frames whether anyone listens or not."""

    def __init__(self, kind: Format, wire: Wire, monotonic_ns: Nanoseconds) -> None:
        super().__init__(kind, wire, monotonic_ns)
        self._repeats = Repeats(kind.repeat_s)
        self._first: list[Indication] = []

    def wait_for_first(self) -> None:
        """Keep the first frame for the first poll. Raises Unanswered, Garbled, WireLost."""
        self._first = self._listen(FIRST_FRAME_S)
        if not self._first:
            raise self._nothing(FIRST_FRAME_S)

    def poll(self, wait_s: float) -> Sequence[Indication]:
        """See `Meter.poll`; silence is no error here, the link calls it stale."""
        found = self._first or self._listen(wait_s)
        self._first = []
        self._took(found)
        return found

    def resynchronise(self) -> None:
        """Start afresh: the next whole frame is found by itself."""
        self._wire.drop_input()
        self._decoder = self._kind.decoder()

    def _listen(self, wait_s: float) -> list[Indication]:
        until_ns = self._after(wait_s)
        while True:
            heard, over = self._hear(until_ns)
            found = self._repeats.without(heard)
            if found or over:
                return found


class AskedMeter(_Handheld):
    """A meter that answers each question once, with nothing in the answer to tell which question it is to.

    So nothing is asked before the last answer is in, and after one that failed to come everything that may
    still come is waited for: see `resynchronise`. A reading is dated by its question.
    """

    def __init__(self, kind: Format, wire: Wire, monotonic_ns: Nanoseconds) -> None:
        super().__init__(kind, wire, monotonic_ns)
        self._next_ns = monotonic_ns()

    def poll(self, wait_s: float) -> Sequence[Indication]:
        """Ask once; the answer's own deadline counts. Nothing if it is too early to ask again."""
        if not self._due(wait_s):
            return []
        found = self._ask()
        self._took(found)
        return found

    def resynchronise(self) -> None:
        """Wait for quiet, ask, forget the answer, wait for quiet again.

        An answer that comes later than it may is so heard in the first quiet; a later one still is taken
        for the answer to forget, and what is asked here is then heard in the second.
        """
        self._hush()
        self._ask()
        self._hush()

    def _due(self, wait_s: float) -> bool:
        """Wait until the next question may be asked, but no longer than told."""
        until_ns = min(self._next_ns, self._after(wait_s))
        while self._monotonic_ns() < until_ns:
            self._wire.read((until_ns - self._monotonic_ns()) / 1e9)  # nothing is asked, nothing is meant
        return self._monotonic_ns() >= self._next_ns

    def _ask(self) -> list[Indication]:
        """Raises Unanswered, Garbled, WireLost."""
        self._wire.drop_input()
        self._decoder = self._kind.decoder()
        asked_ns = self._monotonic_ns()
        self._next_ns = self._after(self._kind.period_s)
        self._wire.write(self._kind.question)
        until_ns = self._after(self._kind.answer_s)
        found: list[Indication] = []
        over = False
        while not (found or over):
            found, over = self._hear(until_ns)
        if not found:
            raise self._nothing(self._kind.answer_s)
        return [replace(shown, monotonic_ns=asked_ns) for shown in found[:1]]

    def _hush(self) -> None:
        """Until nothing has come for as long as an answer may take."""
        give_up_ns = self._after(HUSHES * self._kind.answer_s)
        while self._wire.read(self._kind.answer_s):
            if self._monotonic_ns() > give_up_ns:
                raise Garbled(f"it talks without being asked: {self._wrong_line()}")


def identity_of(kind: Format) -> Identity:
    return Identity(text=f"{kind.name} frames")
