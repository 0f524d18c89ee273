"""Blocks of samples on an audio wire: how a sound device becomes a stream of bytes.

    "PCM "  kind  length  rate  first  missed     then `length` bytes
      4      1      4       4     8      1

Kind 0: text, what the device says of itself, once after opening. Kind 1: samples of one channel, 32-bit
floats in the order of this machine, which they never leave; full scale is 1.0. `first` numbers the first
sample since the stream began, so a block that was dropped leaves a hole in the numbers; `missed` is 1 if the
device says that samples were lost before this block.

An input wire gives such blocks. An output wire is written one block, which it repeats without a seam until
another is written, and gives it back once the device has begun to play it: more a sound device cannot read
back.
"""

import struct
from collections.abc import Iterator
from dataclasses import dataclass
from enum import IntEnum

MARK = b"PCM "
_HEAD = struct.Struct("<4sBIIQB")
LARGEST_BYTES = 1 << 22
"""A head that promises more is damaged: 4 MiB are 20 s at 48 kHz."""
SAMPLE_BYTES = 4


class Kind(IntEnum):
    TEXT = 0
    SAMPLES = 1


@dataclass(frozen=True, slots=True)
class Block:
    """data: text in UTF-8, or 32-bit floats. The other fields as in the head of this module."""

    kind: Kind
    data: bytes
    rate_hz: int = 0
    first: int = 0
    missed: bool = False

    @property
    def count(self) -> int:
        """How many samples."""
        return len(self.data) // SAMPLE_BYTES

    def packed(self) -> bytes:
        head = _HEAD.pack(MARK, self.kind, len(self.data), self.rate_hz, self.first, self.missed)
        return head + self.data


class Blocks:
    """Takes bytes however they are cut, gives whole blocks. What is damaged is skipped; never raises."""

    def __init__(self) -> None:
        self._buffer = bytearray()

    def feed(self, data: bytes) -> Iterator[Block]:
        self._buffer += data
        while self._skip_to_mark() and len(self._buffer) >= _HEAD.size:
            _, kind, length, rate_hz, first, missed = _HEAD.unpack_from(self._buffer)
            if kind not in (Kind.TEXT, Kind.SAMPLES) or length > LARGEST_BYTES:
                del self._buffer[:1]
                continue
            end = _HEAD.size + length
            if len(self._buffer) < end:
                return
            content = bytes(self._buffer[_HEAD.size : end])
            del self._buffer[:end]
            yield Block(Kind(kind), content, rate_hz, first, bool(missed))

    def _skip_to_mark(self) -> bool:
        """Whether a mark, or the beginning of one, now stands first."""
        at = self._buffer.find(MARK)
        if at < 0:
            kept = next((n for n in (3, 2, 1) if self._buffer.endswith(MARK[:n])), 0)
            del self._buffer[: len(self._buffer) - kept]
            return False
        del self._buffer[:at]
        return True
