"""From a file to a display's map, or to all that is wrong with the file."""

from collections.abc import Iterator
from pathlib import Path

from meterlog.files import Location
from meterlog_drivers.declared.described import Described, read_described
from meterlog_drivers.declared.display_model import SEGMENTS, DisplayTables, Position


def load_display(path: Path) -> Described[DisplayTables]:
    """FileError with every problem, file:line: field: what would be right."""
    return read_described(path, DisplayTables, _misfits)


def _misfits(tables: DisplayTables) -> Iterator[tuple[Location, str]]:
    """What only the whole file can tell."""
    frame = tables.frame
    if not frame.index and not frame.start:
        yield ("frame",), "what does a frame begin with? Write index = true, or start = [0xAA] with its bytes"
    if frame.index and frame.length > 15:
        yield ("frame", "length"), "an index nibble counts to 15 at most"
    taken: dict[Position, Location] = {}
    for place, position in tables.positions():
        if problem := _of_position(position, frame.length, frame.index):
            yield place, problem
        if position in taken:
            yield place, f"{[*position]} is {_name(taken[position])} already; each bit is one thing"
        taken[position] = place
    for letter, drawings in tables.characters.items():
        if any(set(drawing) - set(SEGMENTS) for drawing in drawings):
            yield ("characters", letter), f"write the letters of the segments that are lit, of {SEGMENTS}"


def _of_position(position: Position, length: int, index: bool) -> str:
    byte, bit = position
    if byte >= length:
        return f"byte {byte} is not in a frame of {length}; they count from 0"
    return "bits 4 to 7 are the index; the picture is in 0 to 3" if index and bit > 3 else ""


def _name(place: Location) -> str:
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in place)
