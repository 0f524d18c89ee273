"""From a file to the description of binary frames, or to all that is wrong with the file."""

from collections.abc import Iterator
from pathlib import Path

from meterlog.files import Location
from meterlog_drivers.declared.described import Described, read_described
from meterlog_drivers.declared.frame_model import FrameTables


def load_frames(path: Path) -> Described[FrameTables]:
    """FileError with every problem, file:line: field: what would be right."""
    return read_described(path, FrameTables, _misfits)


def _misfits(tables: FrameTables) -> Iterator[tuple[Location, str]]:
    """What only the whole file can tell."""
    frame = tables.frame
    if (frame.length is None) == (frame.counted is None):
        yield ("frame",), "how long is a frame? Write its length, or [frame.counted] for the field that tells"
        return
    if not frame.start and not frame.sum and not frame.end:
        yield ("frame",), "what does a frame begin or end with? Write start, end or [frame.sum]"
    if frame.counted and frame.counted.reading not in frame.counted.known:
        yield ("frame", "counted", "reading"), "is not among the known ones"
    for name in ("function", "range"):
        if getattr(tables, f"{name}s") and getattr(tables, name) is None:
            yield (f"{name}s",), f"where does the code stand? Write [{name}]"
    length = length_of_reading(tables)
    for place, end in _ends(tables):
        if end > length:
            yield place, f"lies beyond the frame of a reading, which has {length} bytes; they count from 0"


def length_of_reading(tables: FrameTables) -> int:
    frame = tables.frame
    if frame.counted:
        return frame.counted.reading + frame.counted.more
    return frame.length or 0


def _ends(tables: FrameTables) -> Iterator[tuple[Location, int]]:
    yield ("value", "byte"), tables.value.byte + tables.value.bytes
    for name in ("function", "range", "decimals"):
        if part := getattr(tables, name):
            yield (name, "byte"), part.byte + part.bytes
    for name, (byte, _) in tables.flags.items():
        yield ("flags", str(name)), byte + 1
