"""Blocks of samples, as an audio wire gives them; each stands here for a reading of its count of samples."""

import struct

from meterlog.quantity import Unit
from meterlog.reading import Indication, State
from meterlog.reading.pcm import Block, Blocks, Kind
from tests.fuzz.subject import Feed, Subject

HEAD_BYTES = 22
"""Mark, kind, length, rate, first, missed: see the table at the head of `meterlog.reading.pcm`."""


def _block(number: int, count: int) -> bytes:
    samples = struct.pack(f"<{count}f", *(0.01 * n for n in range(count)))
    return Block(Kind.SAMPLES, samples, 48_000, number).packed()


FRAMES = [Block(Kind.TEXT, b"a device").packed(), *(_block(number, 4 + number) for number in range(6))]


def subject() -> Subject:
    return Subject(name="audio", new=_new, frames=FRAMES, why_not=_why_not, told=(), dated=False)


def _new() -> Feed:
    blocks = Blocks()
    return lambda data, at_ns: [_indication(block, at_ns) for block in blocks.feed(data)]


def _indication(block: Block, at_ns: int) -> Indication:
    return Indication(
        monotonic_ns=at_ns,
        value=float(len(block.data)),
        unit=Unit.NONE,
        state=State.OK,
        raw=block.packed()[: HEAD_BYTES - 1],
    )


def _why_not(shown: Indication, data: bytes, at: int) -> str:
    """Its head, up to the byte for what was missed, and behind that so many bytes as it says."""
    length = int.from_bytes(shown.raw[5:9], "little")
    if not shown.raw.startswith(b"PCM ") or shown.value != length:
        return "its head has no mark or another length"
    return "" if at + HEAD_BYTES + length <= len(data) else "it is not whole"
