"""From a stream of bytes to frames, and to what they show. No port, no clock; nothing here ever raises.

Two ways, because neither fits all formats:

    Window   slides over the stream until a frame stands at its head: for formats that have fixed positions,
             marks or a sum to know a frame by, and in which any byte may be a CR or LF
    Lines    ends a frame at its end mark and takes lines of exactly the right length: for formats without
             anything to tell their start by. A doubled byte makes a line too long; a window of the right
             length over it would show a shifted frame that looks perfectly sound

Both keep less than two frames whatever comes, and what they find does not depend on how the stream is cut;
only the dates do: a frame is dated by the arrival of its first byte.
"""

from collections.abc import Callable, Container, Iterator, Sequence
from typing import Protocol

from meterlog.reading import Indication

Read = Callable[[bytes, int], Sequence[Indication] | None]
"""A frame and its date -> what it shows, maybe nothing; None if no sound frame can look like that."""

Length = Callable[[bytes], int]
"""How many bytes the frame has that stands at the head of these; 0 if none can stand there. As long as that
cannot be told, of no bytes too: how many there must be before more can."""


class Decoder:
    """See `meterlog_drivers.talking.Stream`; what is amiss with a frame that is damaged cannot be told."""

    misfit = ""

    def __init__(self, read: Read) -> None:
        self._read = read
        self._window = bytearray()
        self._lacking = 1  # before that many have come nothing more can be told
        self.bytes_since_good = 0

    def feed(self, data: bytes, at_ns: int) -> list[Indication]:
        """What the frames show that `data` completes."""
        found: list[Indication] = []
        at = 0
        while at < len(data):
            piece = data[at : at + self._lacking]
            at += len(piece)
            self.bytes_since_good += len(piece)
            for shown in self._push(piece, at_ns):
                self.bytes_since_good = 0
                found += shown
        return found

    def _push(self, piece: bytes, at_ns: int) -> Iterator[Sequence[Indication]]:
        """Take `_lacking` bytes at most."""
        raise NotImplementedError


class Window(Decoder):
    """Where a frame cannot begin, or turns out to be unsound, the window moves on by one byte only.

    A frame whose first byte the foreign byte before it could be as well shows nothing: nobody knows which of
    the two is the foreign one, and a sign may hang on it.
    """

    def __init__(self, length: Length, read: Read) -> None:
        super().__init__(read)
        self._length = length
        self._dates_ns: list[int] = []
        self._foreign = b""

    def _push(self, piece: bytes, at_ns: int) -> Iterator[Sequence[Indication]]:
        self._window += piece
        self._dates_ns += [at_ns] * len(piece)
        self._lacking -= len(piece)
        if self._lacking:
            return
        while (size := self._length(bytes(self._window))) <= len(self._window):
            frame = bytes(self._window[:size])
            shown = self._read(frame, self._dates_ns[0]) if size else None
            if shown is None:
                self._foreign = bytes(self._window[:1])
                self._drop(1)
            else:
                yield [] if self._doubtful(frame) else shown
                self._foreign = b""
                self._drop(size)
        self._lacking = size - len(self._window)

    def _doubtful(self, frame: bytes) -> bool:
        if self._foreign in (b"", frame[:1]):
            return False
        other = self._foreign + frame[1:]
        return self._length(other) == len(frame) and self._read(other, 0) is not None

    def _drop(self, count: int) -> None:
        del self._window[:count]
        del self._dates_ns[:count]


def fixed(size: int, fits: Callable[[bytes], bool]) -> Length:
    """Frames of one size. fits: whether `size` bytes have what is the same in every frame."""
    return lambda head: size if len(head) < size or fits(head) else 0


class SevenBits(Protocol):
    """What to do with the eighth bit of a format that has seven."""

    def strip(self, frame: bytes) -> bytes | None:
        """The frame in seven bits; None if the eighth say that it is damaged."""


class Lines(Decoder):
    """size: with the end mark. body: the seven-bit codes that may stand before it; another begins afresh."""

    def __init__(self, size: int, end: bytes, body: Container[int], seven: SevenBits, read: Read) -> None:
        super().__init__(read)
        self._size = size
        self._end = end
        self._body = body
        self._seven = seven
        self._first_byte_ns = 0

    def _push(self, piece: bytes, at_ns: int) -> Iterator[Sequence[Indication]]:
        (byte,) = piece
        code = byte & 0x7F
        if self._begins_afresh(code):
            self._window.clear()
        if code not in self._body and code not in self._end:
            return
        self._keep(byte, at_ns)
        if code == self._end[-1]:
            line = bytes(self._window)
            self._window.clear()
            shown = self._whole(line)
            if shown is not None:
                yield shown

    def _begins_afresh(self, code: int) -> bool:
        """After a foreign byte, or where an end mark has begun and does not go on."""
        if code in self._body:
            return bool(self._window) and self._window[-1] & 0x7F in self._end
        return code not in self._end

    def _keep(self, byte: int, at_ns: int) -> None:
        if not self._window:
            self._first_byte_ns = at_ns
        if len(self._window) <= self._size:  # one byte too many tells that the line is too long
            self._window.append(byte)

    def _whole(self, line: bytes) -> Sequence[Indication] | None:
        frame = self._seven.strip(line) if len(line) == self._size else None
        if frame is None or not frame.endswith(self._end):
            return None
        return self._read(frame, self._first_byte_ns)


def seven_bits(frame: bytes) -> bytes:
    return bytes(byte & 0x7F for byte in frame)


class Masked:
    """7N2 and the like, opened as 8N1: the eighth bit is a stop bit (1), or 0 where something took it off."""

    def strip(self, frame: bytes) -> bytes | None:
        return seven_bits(frame)


class OddParity:
    """7O1, opened as 8N1 so that the parity can be seen: pyserial hands over bytes with wrong parity unsaid.

    Where the port or what stands before it took the parity off, the eighth bit is always 0. The two cannot be
    confused: LF has an even number of ones, so with parity it is 8A, without 0A. Once a line with parity has
    come, none without is taken any more. Costs: a port that changes over in the middle is heard again only
    when the meter is connected anew.
    """

    def __init__(self) -> None:
        self._carried = False

    def strip(self, frame: bytes) -> bytes | None:
        if all(byte.bit_count() % 2 for byte in frame):
            self._carried = True
        elif self._carried or any(byte & 0x80 for byte in frame):
            return None
        return seven_bits(frame)
