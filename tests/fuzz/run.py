"""Feeds streams to a decoder and holds every reading against the bytes it came from."""

import random
import resource
import time
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field

from meterlog.reading import Indication
from tests.fuzz import streams
from tests.fuzz.streams import Stream
from tests.fuzz.subject import Subject

SEED = 5
CHUNK_BYTES = 1 << 16
HANGS_S = 2.0
"""Of the processor, for one piece of at most 300 bytes."""


@dataclass
class Tally:
    """What came of one decoder. faults: in words, the first few."""

    name: str
    bytes_fed: int = 0
    readings: int = 0
    unjustified: int = 0
    crashes: int = 0
    slowest_s: float = 0.0
    seconds: float = 0.0
    grown_kb: int = 0
    faults: list[str] = field(default_factory=list)

    @property
    def sound(self) -> bool:
        return not self.unjustified and not self.crashes and self.slowest_s < HANGS_S


def run(subject: Subject, most_bytes: int, seed: int = SEED, chunk_bytes: int = CHUNK_BYTES) -> Tally:
    tally = Tally(subject.name)
    began_s, memory_kb = time.monotonic(), _memory_kb()
    number = 0
    while tally.bytes_fed < most_bytes:
        one_chunk(subject, number, seed, chunk_bytes, tally)
        number += 1
    tally.seconds, tally.grown_kb = time.monotonic() - began_s, _memory_kb() - memory_kb
    return tally


def one_chunk(subject: Subject, number: int, seed: int, size: int, tally: Tally) -> None:
    """A new decoder and so many bytes; the number chooses how they are made."""
    chance = random.Random(f"{seed} {subject.name} {number}")
    stream = _stream(subject, number, size, chance)
    feed = subject.new()
    cut = streams.pieces(chance, stream.data)
    seen = Seen(subject, stream, {start: start + len(piece) for start, piece in cut})
    for start, piece in cut:
        before_s = time.process_time()
        try:
            found = feed(piece, start)
        except Exception as error:
            tally.crashes += 1
            tally.faults.append(f"chunk {number}, byte {start}: {type(error).__name__}: {error}")
            break
        tally.slowest_s = max(tally.slowest_s, time.process_time() - before_s)
        _look(tally, number, seen, found, start + len(piece))
    tally.bytes_fed += len(stream.data)


def _look(tally: Tally, number: int, seen: "Seen", found: list[Indication], end: int) -> None:
    for indication in found:
        tally.readings += 1
        if why := seen.why_not(indication, end):
            tally.unjustified += 1
            tally.faults.append(f"chunk {number}, before byte {end}: {why}: {indication}")
    del tally.faults[5:]


def _stream(subject: Subject, number: int, size: int, chance: random.Random) -> Stream:
    """Of ten chunks four random, two likely, two damaged as the format can tell, two damaged anyhow."""
    told = subject.told or streams.DAMAGES
    ways: dict[int, Callable[[], Stream]] = {
        4: lambda: streams.likely(chance, size, subject.frames),
        5: lambda: streams.likely(chance, size, subject.frames),
        6: lambda: streams.damaged(chance, size, subject.frames, told),
        7: lambda: streams.damaged(chance, size, subject.frames, told),
        8: lambda: streams.damaged(chance, size, subject.frames, streams.DAMAGES),
        9: lambda: streams.mangled(chance, size, subject.frames),
    }
    return ways.get((number * 7 + 6) % 10, lambda: streams.uniform(chance, size))()


class Seen:
    """One stream, and how far its readings have come."""

    def __init__(self, subject: Subject, stream: Stream, ends: Mapping[int, int]) -> None:
        self._subject = subject
        self._stream = stream
        self._data = bytes(byte & subject.mask for byte in stream.data)
        self._sent = {_bare(bytes(byte & subject.mask for byte in frame)) for frame in stream.sent}
        self._told = bool(subject.told) and stream.kind == streams.by(subject.told)
        self._ends = ends
        self._from = 0

    def why_not(self, indication: Indication, end: int) -> str:
        """In words why the stream does not justify a reading; "" if it does.

        Its frame must stand in the stream, behind the one before, begin in the piece that it is dated by,
        have come by now, and pass the simple check of its format; and where the damage is of a kind that the
        format can tell, it must be a frame that was sent.
        """
        faults = ["its frame does not stand where it is dated"]
        for at in self._places(indication, end):
            fault = self._subject.why_not(indication, self._stream.data, at)
            if not fault and self._told and _bare(indication.raw) not in self._sent:
                fault = "no such frame was sent"
            if not fault:
                self._from = at + len(indication.raw)
                return ""
            faults.append(fault)
        return faults[-1]

    def _places(self, indication: Indication, end: int) -> Iterator[int]:
        """Where its frame stands, as far as it may be the one that is meant."""
        raw, last = indication.raw, end
        at = self._from
        if self._subject.dated:
            at, last = max(at, indication.monotonic_ns), self._ends[indication.monotonic_ns]
        while raw and (at := self._data.find(raw, at, end)) >= 0 and at < last:
            yield at
            at += 1


def _bare(frame: bytes) -> bytes:
    return frame.rstrip(b"\r\n")


def _memory_kb() -> int:
    return resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
