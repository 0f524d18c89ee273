"""Two kinds of hand-held meters: one talks by itself, the other must be asked for each reading."""

from collections.abc import Sequence
from dataclasses import replace

from meterlog.reading import Garbled, Identity, Indication, Meter, Nanoseconds, Wire
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.repeats import Repeats
from meterlog_drivers.talking import HeardMeter, Listener, Sift, TalkingMeter

HUSHES = 5
"""How many answers' time a meter that is asked may go on talking before it is given up."""


def connected(kind: Format, wire: Wire, monotonic_ns: Nanoseconds) -> Meter:
    """A meter that has been heard. Raises Unanswered, Garbled, WireLost."""
    if kind.question:
        asked = AskedMeter(kind, wire, monotonic_ns)
        asked.resynchronise()
        return asked
    once = Repeats(kind.repeat_s).without
    talking = TalkingMeter(
        _listener(kind, wire, monotonic_ns, once), identity_of(kind), kind.period_s, kind.unknown
    )
    talking.wait_for_first()
    return talking


def _listener(kind: Format, wire: Wire, monotonic_ns: Nanoseconds, sift: Sift = list) -> Listener:
    return Listener(
        wire,
        monotonic_ns,
        kind.decoder,
        look_at=kind.look_at,
        advice=_wrong_line(kind),
        sift=sift,
    )


def _wrong_line(kind: Format) -> str:
    return f"wrong speed or format? These meters send at {kind.sends}; another kind needs another driver"


class AskedMeter(HeardMeter):
    """A meter that answers each question once, with nothing in the answer to tell which question it is to.

    So nothing is asked before the last answer is in, and after one that failed to come everything that may
    still come is waited for: see `resynchronise`. A reading is dated by its question.
    """

    def __init__(self, kind: Format, wire: Wire, monotonic_ns: Nanoseconds) -> None:
        super().__init__(_listener(kind, wire, monotonic_ns), identity_of(kind), kind.period_s, kind.unknown)
        self._kind = kind
        self._wire = wire
        self._monotonic_ns = monotonic_ns
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
        self._listener.drop()
        asked_ns = self._monotonic_ns()
        self._next_ns = self._after(self._kind.period_s)
        self._wire.write(self._kind.question)
        found = self._listener.within(self._kind.answer_s)
        if not found:
            raise self._listener.nothing(self._kind.answer_s)
        return [replace(shown, monotonic_ns=asked_ns) for shown in found[:1]]

    def _hush(self) -> None:
        """Until nothing has come for as long as an answer may take."""
        give_up_ns = self._after(HUSHES * self._kind.answer_s)
        while self._wire.read(self._kind.answer_s):
            if self._monotonic_ns() > give_up_ns:
                raise Garbled(f"it talks without being asked: {_wrong_line(self._kind)}")

    def _after(self, wait_s: float) -> int:
        return self._monotonic_ns() + round(wait_s * 1e9)


def identity_of(kind: Format) -> Identity:
    return Identity(text=f"{kind.name} frames")
