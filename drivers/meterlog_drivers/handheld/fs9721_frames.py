"""Frames of the FS9721_LP3 meter chip: bytes in, indications out. No port, no clock.

A frame is 14 bytes. The high nibble of byte i is i (1..E), the low nibble a piece of the display:

    byte   bit 3    bit 2   bit 1   bit 0         byte   bit 3    bit 2   bit 1   bit 0
     1     AC       DC      auto    RS232         10     micro    nano    kilo    diode
     2     minus    a5      a6      a1            11     milli    %       mega    beep
     3     a4       a3      a7      a2            12     farad    ohm     rel     hold
     4     point 1  b5      b6      b1            13     ampere   volt    hertz   low battery
     5     b4       b3      b7      b2            14     differs from meter to meter
     6..9  as 4 and 5 with points 2 and 3, digits c and d

a is the leftmost digit; segments count 1 top, 2 upper right, 3 lower right, 4 bottom, 5 lower left,
6 upper left, 7 middle; point 1 stands behind digit a. There is no checksum: one flipped bit can show
another digit, so a single frame must never decide anything.

Source: hobbyists' descriptions of the data sheet "FS9721_LP3" (bytes 1-9), and the data sheet from
memory (bytes 10-14); one example frame is printed in a maker's protocol note.
"""

import re
from collections.abc import Iterable

from meterlog.quantity import Unit
from meterlog.reading import AUTO, HOLD, LOW_BATTERY, RELATIVE, Coupling, Indication, State

FRAME_BYTES = 14

# Seven-bit patterns in the order of segments 5 6 1 4 3 7 2. Some displays draw the 7 with segment 6.
# E and r appear in "Err"; what no display of this chip is known to draw marks the frame as damaged.
CHARACTERS = {
    0x7D: "0", 0x05: "1", 0x5B: "2", 0x1F: "3", 0x27: "4", 0x3E: "5", 0x7E: "6", 0x15: "7", 0x35: "7",
    0x7F: "8", 0x3F: "9", 0x68: "L", 0x00: " ", 0x02: "-", 0x7A: "E", 0x42: "r",
}  # fmt: skip

ANNUNCIATORS = {  # by byte, bit 3 first
    1: ("ac", "dc", AUTO, "rs232"),
    10: ("micro", "nano", "kilo", "diode"),
    11: ("milli", "percent", "mega", "beep"),
    12: ("farad", "ohm", RELATIVE, HOLD),
    13: ("ampere", "volt", "hertz", LOW_BATTERY),
}
PREFIXES = {"nano": -9, "micro": -6, "milli": -3, "kilo": 3, "mega": 6}
UNITS = {
    "volt": (Unit.VOLT, "voltage"),
    "ampere": (Unit.AMPERE, "current"),
    "ohm": (Unit.OHM, "resistance"),
    "farad": (Unit.FARAD, "capacitance"),
    "hertz": (Unit.HERTZ, "frequency"),
    "percent": (Unit.PERCENT, "duty"),
}
SPECIAL_FUNCTIONS = {("volt", "diode"): "diode", ("ohm", "beep"): "continuity"}
COUPLINGS = {"ac": Coupling.AC, "dc": Coupling.DC}
FLAGS = frozenset({AUTO, HOLD, RELATIVE, LOW_BATTERY})

NUMBER = re.compile(r" *[0-9]*\.?[0-9]+")


class Decoder:
    """A sliding window on the index nibbles; keeps less than one frame, however long the stream."""

    def __init__(self) -> None:
        self._window = bytearray()
        self._first_byte_ns = 0
        self.bytes_since_frame = 0

    def feed(self, data: bytes, at_ns: int) -> list[Indication]:
        """The good frames that `data` completes, each dated by the arrival of its first byte.

        The result does not depend on how the stream is cut, save for the dates. Never raises.
        """
        frames = (self._frame(byte, at_ns) for byte in data)
        return [indication for indication in frames if indication is not None]

    def _frame(self, byte: int, at_ns: int) -> Indication | None:
        self.bytes_since_frame += 1
        if byte >> 4 != len(self._window) + 1:
            # Only a byte with index 1 can start a frame, and the window holds but one: at its head.
            self._window.clear()
            if byte >> 4 != 1:
                return None
        if not self._window:
            self._first_byte_ns = at_ns
        self._window.append(byte)
        return self._whole() if len(self._window) == FRAME_BYTES else None

    def _whole(self) -> Indication | None:
        frame = bytes(self._window)
        self._window.clear()
        indication = decode_frame(frame, self._first_byte_ns)
        if indication is not None:
            self.bytes_since_frame = 0
        return indication


def decode_frame(frame: bytes, at_ns: int) -> Indication | None:
    """What 14 bytes with the right index nibbles show; None if no display can look like that."""
    lit = _lit(frame)
    digits = _digits(frame)
    if digits is None or not _possible(frame, lit):
        return None
    unit, function = _unit_and_function(lit)
    state, value, resolution = _number(_with_point(digits, frame), bool(frame[1] & 8), _exponent(lit))
    return Indication(
        monotonic_ns=at_ns,
        value=value,
        unit=unit,
        state=state,
        coupling=next((COUPLINGS[name] for name in COUPLINGS if name in lit), Coupling.NONE),
        resolution=resolution,
        function=function,
        flags=lit & FLAGS,
        raw=frame,
    )


def _lit(frame: bytes) -> frozenset[str]:
    return frozenset(
        name
        for place, names in ANNUNCIATORS.items()
        for bit, name in zip((8, 4, 2, 1), names, strict=True)
        if frame[place - 1] & bit
    )


def _digits(frame: bytes) -> str | None:
    patterns = [(frame[place] & 7) << 4 | frame[place + 1] & 15 for place in (1, 3, 5, 7)]
    characters = [CHARACTERS.get(pattern) for pattern in patterns]
    return "".join(c for c in characters if c) if all(characters) else None


def _points(frame: bytes) -> list[int]:
    """How many digits stand before each point that is lit."""
    return [digits for digits, place in enumerate((3, 5, 7), start=1) if frame[place] & 8]


def _possible(frame: bytes, lit: frozenset[str]) -> bool:
    """At most one of each kind. A meter that sends must also show RS232, or the frame is damaged."""
    kinds: tuple[Iterable[str], ...] = (PREFIXES, UNITS, COUPLINGS)
    return "rs232" in lit and len(_points(frame)) <= 1 and all(len(lit & set(kind)) <= 1 for kind in kinds)


def _with_point(digits: str, frame: bytes) -> str:
    points = _points(frame)
    return f"{digits[: points[0]]}.{digits[points[0] :]}" if points else digits


def _exponent(lit: frozenset[str]) -> int:
    return next((PREFIXES[name] for name in PREFIXES if name in lit), 0)


def _unit_and_function(lit: frozenset[str]) -> tuple[Unit, str]:
    name = next((name for name in UNITS if name in lit), None)
    if name is None:
        return Unit.NONE, ""
    unit, function = UNITS[name]
    return unit, next(
        (f for (n, mark), f in SPECIAL_FUNCTIONS.items() if n == name and mark in lit), function
    )


def _number(shown: str, minus: bool, exponent: int) -> tuple[State, float | None, float]:
    """State, value and one count, both in the base unit."""
    text = shown.replace(".", "").strip()
    if not text:
        return State.BLANK, None, 0.0
    if text == "0L":
        return State.OVERLOAD, None, 0.0
    if not NUMBER.fullmatch(shown):
        return State.INVALID, None, 0.0
    power = exponent - len(shown.partition(".")[2])
    # Through decimal text, so that 1.234 V is the nearest double to 1.234 and not 1234 times one.
    return State.OK, float(f"{'-' if minus else ''}{int(text)}e{power}"), float(f"1e{power}")
