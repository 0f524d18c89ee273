"""The tables of a file that describes binary frames with a length or a sum. See docs/dialects.md."""

from typing import Annotated, Literal

from pydantic import Field

from meterlog.files import Truth, Whole
from meterlog_drivers.declared.common_model import Description, Pause, Table
from meterlog_drivers.declared.display_model import FLAGS, Byte, Position
from meterlog_drivers.declared.meaning import Means

Place = Annotated[Whole, Field(ge=0, le=255)]
Order = Literal["high first", "low first"]
SAYS = ("minus", "overload", "underload", *FLAGS)
"""What a bit may say of the reading."""


class Part(Table):
    """Some bytes of a frame as a whole number, or some bits of that; text: as characters.

    As the keys of tables a number is written in hexadecimal with two digits at least: "0C".
    """

    byte: Place
    bytes: Annotated[Whole, Field(ge=1, le=8)] = 1
    order: Order = "high first"
    bit: Annotated[Whole, Field(ge=0, le=63)] = 0
    bits: Annotated[Whole, Field(ge=1, le=64)] = 64
    text: Truth = False


class LengthField(Table):
    """[frame.counted]: the field that tells the length. more: what is to be added for the whole frame.

    known    the numbers that it may hold; others are damage
    reading  the one that a reading has; frames with the others say nothing
    """

    byte: Place
    bytes: Annotated[Whole, Field(ge=1, le=2)] = 1
    order: Order = "high first"
    more: Annotated[Whole, Field(ge=0, le=32)]
    known: Annotated[tuple[Place, ...], Field(min_length=1)]
    reading: Place


class Sum(Table):
    """[frame.sum]: at the end, over all bytes from `first` on to it; then inverted or negated, if it is."""

    bytes: Annotated[Whole, Field(ge=1, le=2)] = 1
    order: Order = "high first"
    first: Place = 0
    then: Literal["as it is", "inverted", "negated"] = "as it is"


class FrameTable(Table):
    """[frame]. Of a length or the field that tells it there is one."""

    start: Annotated[tuple[Byte, ...], Field(max_length=8)] = ()
    end: Annotated[tuple[Byte, ...], Field(max_length=8)] = ()
    length: Annotated[Whole, Field(ge=2, le=256)] | None = None
    counted: LengthField | None = None
    sum: Sum | None = None
    repeat: Pause = 0.0


class Value(Table):
    """[value]: the number. text: as characters; digits: one in each byte; whole, signed: a binary number."""

    kind: Literal["text", "digits", "whole", "signed"]
    byte: Place
    bytes: Annotated[Whole, Field(ge=1, le=16)]
    order: Order = "high first"


class Words(Table):
    """[number]: what stands in a text's place without being a number."""

    overload: tuple[str, ...] = ("OL",)
    underload: tuple[str, ...] = ()


class BinaryAsk(Table):
    """[ask]: for a meter that sends a frame when it is asked."""

    reading: Annotated[tuple[Byte, ...], Field(min_length=1, max_length=64)]
    patience: Annotated[Pause, Field(gt=0)] = 1.0


class FrameTables(Description):
    """The whole file. The keys of functions and ranges are codes: "02"; of ranges with a function "02 1"."""

    ask: BinaryAsk | None = None
    frame: FrameTable
    value: Value
    function: Part | None = None
    functions: dict[str, Means] = {}
    range: Part | None = None
    ranges: dict[str, Means] = {}
    decimals: Part | None = None
    flags: dict[Literal[SAYS], Position] = {}  # type: ignore[valid-type]
    number: Words = Words()
