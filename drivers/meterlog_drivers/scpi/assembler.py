"""Where one answer ends: by its terminator, or by the count of a definite block.

Block headers are those of IEEE 488.2 (8.7.9 and 8.7.10): `#`, one digit n, n digits of byte count;
`#0` for a block that only the terminator ends. Data bytes may equal the terminator, so a block is
never read by lines. Two makers' manuals print counts that are one too high (or count the LF): a text
block whose last counted byte is the terminator is complete, for nothing more may come.
"""

import re
from dataclasses import dataclass

from meterlog.reading import Garbled

LONGEST_ANSWER_BYTES = 64 * 1024

_TEXT_THEN_END = re.compile(rb"[ -~]*[\r\n]+")


@dataclass(frozen=True, slots=True)
class Answer:
    """raw: all that came; content: without header and terminator; miscounted: see the module's head."""

    raw: bytes
    content: bytes
    miscounted: bool = False


class Assembler:
    """Collects bytes until they make an answer; keeps at most 64 KiB."""

    def __init__(self, end: bytes = b"\n") -> None:
        self._end = end
        self._buffer = bytearray()

    def feed(self, data: bytes) -> Answer | None:
        """The first whole answer, if there is one now. Raises Garbled."""
        self._buffer += data
        answer = take_answer(bytes(self._buffer), self._end)
        if answer is not None:
            del self._buffer[: len(answer.raw)]
        elif len(self._buffer) > LONGEST_ANSWER_BYTES:
            raise Garbled(f"{len(self._buffer)} bytes without an end: is this line an instrument's?")
        return answer

    def clear(self) -> bytes:
        """Forget what is left over, and tell it."""
        left = bytes(self._buffer)
        self._buffer.clear()
        return left


def take_answer(buffer: bytes, end: bytes = b"\n") -> Answer | None:
    """The answer at the head of `buffer`, or None while it is not whole. Raises Garbled."""
    # The other half of CR LF or LF CR may still stand before the answer.
    start = len(buffer) - len(buffer.lstrip(b" \r\n".replace(end, b"")))
    kind = buffer[start : start + 2]
    if kind == b"#":
        return None
    if kind[:1] == b"#" and kind[1:] in b"123456789":
        return _definite_block(buffer, start, end)
    return _line(buffer, start + 2 if kind == b"#0" else start, end)


def _line(buffer: bytes, start: int, end: bytes) -> Answer | None:
    stop = buffer.find(end, start)
    if stop < 0:
        return None
    return Answer(raw=buffer[: stop + 1], content=buffer[start:stop].strip())


def _definite_block(buffer: bytes, start: int, end: bytes) -> Answer | None:
    data_start = start + 2 + int(buffer[start + 1 : start + 2])
    count_text = buffer[start + 2 : data_start]
    if not count_text.isdigit() and count_text:
        raise Garbled(f"a block whose byte count is {count_text!r}")
    if len(buffer) < data_start:
        return None
    stop = data_start + int(count_text)
    if stop > LONGEST_ANSWER_BYTES:
        raise Garbled(f"a block of {int(count_text)} bytes: more than {LONGEST_ANSWER_BYTES} are not taken")
    return _ended_block(buffer, data_start, stop, end) if len(buffer) >= stop else None


def _ended_block(buffer: bytes, start: int, stop: int, end: bytes) -> Answer | None:
    content, after = buffer[start:stop], buffer[stop:].lstrip(b" \r\n".replace(end, b""))
    if after.startswith(end):
        return Answer(raw=buffer[: buffer.index(end, stop) + 1], content=content)
    if after:
        raise Garbled(f"a block goes on past its count of {stop - start} bytes: {after[:20]!r}")
    if content.endswith(end) and _TEXT_THEN_END.fullmatch(content):
        return Answer(raw=buffer[:stop], content=content.strip(), miscounted=True)
    return None
