"""The tables of a file that describes the picture of a display, segment by segment. See docs/dialects.md."""

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from meterlog.files import Location, Truth, Whole
from meterlog.quantity import Unit
from meterlog_drivers.declared.common_model import Description, Pause, Table

SEGMENTS = "abcdefg"
"""a top, b upper right, c lower right, d bottom, e lower left, f upper left, g middle."""
UNITS = {
    "V": (Unit.VOLT, "voltage"),
    "A": (Unit.AMPERE, "current"),
    "ohm": (Unit.OHM, "resistance"),
    "F": (Unit.FARAD, "capacitance"),
    "H": (Unit.HENRY, "inductance"),
    "Hz": (Unit.HERTZ, "frequency"),
    "s": (Unit.SECOND, "period"),
    "W": (Unit.WATT, "power"),
    "%": (Unit.PERCENT, "duty"),
    "degC": (Unit.CELSIUS, "temperature"),
    "degF": (Unit.FAHRENHEIT, "temperature"),
}
PREFIXES = {"p": -12, "n": -9, "u": -6, "m": -3, "k": 3, "M": 6, "G": 9}
COUPLINGS = ("dc", "ac", "acdc")
SPECIAL_FUNCTIONS = {("V", "diode"): "diode", ("ohm", "continuity"): "continuity"}
FLAGS = ("auto", "manual", "hold", "rel", "min", "max", "pmin", "pmax", "lowbatt", "apo", "mem", "lpf")
WORDS = ("minus", *COUPLINGS, *PREFIXES, *UNITS, "diode", "continuity", *FLAGS)
"""What an annunciator may be called."""

CHARACTERS = {
    "0": ["abcdef"], "1": ["bc"], "2": ["abdeg"], "3": ["abcdg"], "4": ["bcfg"], "5": ["acdfg"],
    "6": ["acdefg"], "7": ["abc", "abcf"], "8": ["abcdefg"], "9": ["abcdfg"],
    "L": ["def"], "E": ["adefg"], "r": ["eg"], "-": ["g"], " ": [""],
}  # fmt: skip
"""How displays draw; a file may add other ways. What is drawn otherwise marks a frame as damaged."""

Byte = Annotated[Whole, Field(ge=0, le=255)]
Letter = Annotated[str, Field(min_length=1, max_length=1)]
Position = tuple[Annotated[Whole, Field(ge=0, le=63)], Annotated[Whole, Field(ge=0, le=7)]]
"""Byte, counted from 0; bit, 0 the least significant."""


class FrameTable(Table):
    """[frame]. index: the high nibble of each byte is its place, from 1. lit, dark: what always is."""

    length: Annotated[Whole, Field(ge=2, le=64)]
    index: Truth = False
    start: Annotated[tuple[Byte, ...], Field(max_length=8)] = ()
    lit: tuple[Position, ...] = ()
    dark: tuple[Position, ...] = ()
    repeat: Pause = 0.0


class Digit(Table):
    """One [[digit]], from the left. point: the one behind it."""

    a: Position
    b: Position
    c: Position
    d: Position
    e: Position
    f: Position
    g: Position
    point: Position | None = None

    @property
    def segments(self) -> list[tuple[str, Position]]:
        return [(name, getattr(self, name)) for name in SEGMENTS]


class Shown(Table):
    """[number]: what stands in the number's place without being one, without its point and blanks."""

    overload: tuple[str, ...] = ("0L",)
    underload: tuple[str, ...] = ()


class DisplayTables(Description):
    """The whole file."""

    frame: FrameTable
    digits: Annotated[list[Digit], Field(alias="digit", min_length=1, max_length=8)]
    annunciators: dict[Literal[WORDS], Position]  # type: ignore[valid-type]
    characters: dict[Letter, list[str]] = {}
    number: Shown = Shown()

    def positions(self) -> Iterator[tuple[Location, Position]]:
        """Everything that has a place of its own, as it stands in the file."""
        for index, digit in enumerate(self.digits):
            for name in (*SEGMENTS, "point"):
                if (place := getattr(digit, name)) is not None:
                    yield ("digit", index, name), place
        for name, place in self.annunciators.items():
            yield ("annunciators", str(name)), place
        for kind in ("lit", "dark"):
            for place in getattr(self.frame, kind):
                yield ("frame", kind), place
