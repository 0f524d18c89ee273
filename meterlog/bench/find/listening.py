"""On an open line: wait for what talks by itself, then ask; until something is recognised."""

import threading
from collections.abc import Sequence
from dataclasses import dataclass, field

from meterlog.bench.clock import Clock
from meterlog.bench.find.candidates import Candidate, Match, questions, recognised, silence_s
from meterlog.reading import Line, Wire

LISTEN_MOST_S = 4.0
"""A silent port must not hold the others up, whatever a driver asks for."""
QUIET_MOST_S = 3.0
KEEP_BYTES = 4096
_SLICE_S = 0.1


@dataclass(frozen=True, slots=True)
class Heard:
    """What came at one line. `line` is None where there is no framing; `sent` is what was asked meanwhile."""

    line: Line | None
    data: bytes
    sent: tuple[bytes, ...] = ()
    matches: tuple[Match, ...] = ()


@dataclass(slots=True)
class Listener:
    """Hears one open line out. `may_ask`: whether anything may be sent. Raises WireLost."""

    wire: Wire
    line: Line | None
    candidates: Sequence[Candidate]
    clock: Clock
    stop: threading.Event
    may_ask: bool = True
    _data: bytes = field(default=b"", init=False)
    _sent: list[bytes] = field(default_factory=list, init=False)
    _matches: list[Match] = field(default_factory=list, init=False)

    def hear(self) -> Heard:
        if self.line is not None and self.line.quiet_s:
            self.stop.wait(min(self.line.quiet_s, QUIET_MOST_S))
        self._listen(silence_s(self.candidates))
        if self.may_ask and not self._matches:
            self._ask()
        return Heard(self.line, self._data, tuple(self._sent), tuple(self._matches))

    def _ask(self) -> None:
        for question, wait_s in questions(self.candidates).items():
            if self._matches or self.stop.is_set():
                return
            self.wire.write(question)
            self._sent.append(question)
            self._listen(wait_s)

    def _listen(self, wait_s: float) -> None:
        end_ns = self.clock.monotonic_ns() + round(min(wait_s, LISTEN_MOST_S) * 1e9)
        while not self._matches and not self.stop.is_set():
            left_s = (end_ns - self.clock.monotonic_ns()) / 1e9
            if left_s <= 0.0:
                return
            if data := self.wire.read(min(left_s, _SLICE_S)):
                self._data = (self._data + data)[-KEEP_BYTES:]
                self._matches = recognised(self.candidates, self._data, self._sent, self.line)


def line_s(line: Line, candidates: Sequence[Candidate]) -> float:
    """How long one silent line takes, at most."""
    waits = (silence_s(candidates), *questions(candidates).values())
    return min(line.quiet_s, QUIET_MOST_S) + sum(min(wait_s, LISTEN_MOST_S) for wait_s in waits)
