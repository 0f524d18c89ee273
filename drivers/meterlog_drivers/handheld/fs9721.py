"""Hand-held meters with the FS9721_LP3 chip: 2400 baud 8N1, 14-byte frames, two to three a second.

The meter talks by itself and takes no commands: function, range and hold are chosen at its knob and
told with every frame. Its RS232 annunciator must be lit (often a key held while switching on).

A frame is a picture of the display. The high nibble of byte i is i (1..E), the low nibble a piece of it:

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
from collections.abc import Sequence

from meterlog.quantity import Unit
from meterlog.reading import AUTO, HOLD, LOW_BATTERY, RELATIVE, Indication, Line
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.figures import (
    BLANK,
    NO_NUMBER,
    OVERLOAD,
    Count,
    at_most_one,
    count,
    coupling_in,
    exponent_in,
    indication,
    lit,
    measured_in,
)
from meterlog_drivers.handheld.format import OPTICAL_LEAD, Format
from meterlog_drivers.handheld.framing import Window, fixed

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
_LIT = {place - 1: [lit(nibble, *names) for nibble in range(16)] for place, names in ANNUNCIATORS.items()}
"""By index of the byte, what each low nibble says."""
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
FLAGS = frozenset({AUTO, HOLD, RELATIVE, LOW_BATTERY})

NUMBER = re.compile(r" *[0-9]*\.?[0-9]+")


def _indexed(frame: bytes) -> bool:
    return all(byte >> 4 == index for index, byte in enumerate(frame[:FRAME_BYTES], start=1))


def read(frame: bytes, at_ns: int) -> Sequence[Indication] | None:
    """What 14 bytes with the right index nibbles show; None if no display can look like that."""
    seen = _lit(frame)
    digits, points = _digits(frame), _points(frame)
    if digits is None or len(points) > 1 or not _possible(seen):
        return None
    shown = f"{digits[: points[0]]}.{digits[points[0] :]}" if points else digits
    unit, function = measured_in(seen, UNITS, SPECIAL_FUNCTIONS)
    counted = _count(shown, bool(frame[1] & 8), exponent_in(seen, PREFIXES))
    return [indication(at_ns, frame, counted, unit, function, coupling=coupling_in(seen), flags=seen & FLAGS)]


def _lit(frame: bytes) -> frozenset[str]:
    return frozenset().union(*(said[frame[index] & 15] for index, said in _LIT.items()))


def _digits(frame: bytes) -> str | None:
    patterns = [(frame[place] & 7) << 4 | frame[place + 1] & 15 for place in (1, 3, 5, 7)]
    characters = [CHARACTERS.get(pattern) for pattern in patterns]
    return "".join(c for c in characters if c) if all(characters) else None


def _points(frame: bytes) -> list[int]:
    """How many digits stand before each point that is lit."""
    return [digits for digits, place in enumerate((3, 5, 7), start=1) if frame[place] & 8]


def _possible(seen: frozenset[str]) -> bool:
    """At most one of each kind. A meter that sends must also show RS232, or the frame is damaged."""
    return "rs232" in seen and at_most_one(seen, PREFIXES, UNITS, ("ac", "dc"))


def _count(shown: str, minus: bool, exponent: int) -> Count:
    text = shown.replace(".", "").strip()
    if not text:
        return BLANK
    if text == "0L":
        return OVERLOAD
    if not NUMBER.fullmatch(shown):
        return NO_NUMBER
    return count(text, exponent - len(shown.partition(".")[2]), minus=minus)


FORMAT = Format(
    name="fs9721",
    sends="2400 baud, 8N1",
    line=Line(baud=2400, dtr=True, rts=False),
    decoder=lambda: Window(fixed(FRAME_BYTES, _indexed), read),
    functions=frozenset({function for _, function in UNITS.values()} | {"diode", "continuity"}),
    look_at=f"is the meter on, its RS232 annunciator lit, {OPTICAL_LEAD}?",
)
driver = Handheld("hand-held meters with the FS9721_LP3 chip, over their serial lead", {"": FORMAT})
