"""From bytes to lines, whatever the pieces they come in. No port, no clock.

A line counts only if its beginning was seen too: after a break in the stream, after a byte that can stand in
no line, or at its start if nothing is known of what came before, everything up to the next end is thrown
away. So the rest of a number never passes for a number.
"""

import re
from dataclasses import dataclass

from meterlog_drivers.declared.line_model import Receive
from meterlog_drivers.declared.template import LONGEST

ENDS = {"CR": b"\r", "LF": b"\n", "CR LF": b"\r\n", "LF CR": b"\n\r", "none": b""}


@dataclass(frozen=True, slots=True)
class Cut:
    """A line without its end, and when its first byte came."""

    line: bytes
    at_ns: int


PRINTABLE = frozenset(range(0x20, 0x7F)) | {0x09}


class LineCutter:
    """begun: whether the first byte that comes is known to be the first of a line.

    headed  whether the lines themselves tell where they begin
    more    characters that may stand in a line beside printable ASCII
    """

    def __init__(
        self,
        receive: Receive,
        *,
        begun: bool,
        headed: bool = False,
        more: str = "",
        seven_bits: bool = False,
    ) -> None:
        self._receive = receive
        self._end = re.compile(rb"[\r\n]" if receive.end == "CR or LF" else re.escape(ENDS[receive.end]))
        known = PRINTABLE | {*more.encode("latin-1", "ignore"), 0x0D, 0x0A}
        self._foreign = re.compile(b"[" + re.escape(bytes({*range(256)} - known)) + b"]+")
        self._mask = 0x7F if seven_bits else 0xFF
        self._begun = begun or headed
        self._headed = headed
        self._pending = b""
        self._first_ns = self._last_ns = 0

    @property
    def pending(self) -> bytes:
        """What has come of a line that has not ended."""
        return self._pending

    def feed(self, data: bytes, at_ns: int) -> list[Cut]:
        """The lines that `data` completes; with an idle time b"" tells that time has passed."""
        cuts = self._ended_by_silence(at_ns)
        if not data:
            return cuts
        data = bytes(byte & self._mask for byte in data)
        first, *others = self._foreign.split(data)
        cuts += self._continued(first, at_ns)
        for piece in others:
            self._pending, self._begun = b"", self._headed
            cuts += self._continued(piece, at_ns)
        return cuts

    def _continued(self, data: bytes, at_ns: int) -> list[Cut]:
        if not data:
            return []
        # What may stand before a line, the rest of an end, is not its first byte.
        self._first_ns = self._first_ns if self._pending.strip(b"\r\n") else at_ns
        self._last_ns = at_ns
        self._pending += data
        cuts = self._ended_by_length() if self._receive.end == "none" else self._ended_by_mark(at_ns)
        if len(self._pending) > LONGEST:
            self._pending, self._begun = b"", False
        return cuts

    def take(self) -> Cut:
        """What is pending, as a line: the caller knows that it is whole."""
        cut = Cut(self._pending, self._first_ns)
        self._pending = b""
        return cut

    def _ended_by_mark(self, at_ns: int) -> list[Cut]:
        cuts = []
        while end := self._end.search(self._pending):
            line = self._pending[: end.start()]
            # Half an end before a line that tells its beginning is the rest of the end before.
            cut = Cut(line.lstrip(b"\r\n") if self._headed else line, self._first_ns)
            self._pending, self._first_ns = self._pending[end.end() :], at_ns
            if self._begun and cut.line.strip(b"\r\n"):
                cuts.append(cut)
            self._begun = True
        return [cut for cut in cuts if self._receive.length in (None, len(cut.line))]

    def _ended_by_length(self) -> list[Cut]:
        length = self._receive.length
        if length is None or not self._begun or len(self._pending) < length:
            return []
        cut = Cut(self._pending[:length], self._first_ns)
        self._pending = self._pending[length:]
        return [cut]

    def _ended_by_silence(self, at_ns: int) -> list[Cut]:
        idle = self._receive.idle
        if idle is None or not self._last_ns or at_ns - self._last_ns < round(idle * 1e9):
            return []
        cut, begun = self.take(), self._begun
        self._begun, self._last_ns = True, 0
        return [cut] if begun and cut.line else []
