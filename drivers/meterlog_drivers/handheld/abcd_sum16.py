"""Newer hand-held meters behind a lead that shows as a serial port: 9600 8N1, they answer a request.

    AB CD, length, payload, sum         length: bytes that follow it, the sum among them
                                        sum: of all bytes before it, 16 bits, high byte first

    request     AB CD 03 5E 01 D9
    accepted    AB CD 04 FF 00 02 7B    to the press of a key, which this driver never sends
    answer      14 bytes of payload:
        1       function, see the table
        2       range in the low nibble
        3-9     the display as text, with its sign
        10, 11  bar
        12      bits 3..0  maximum, minimum, hold, relative
        13      bit 2 manual range
        14      bits 3..0  error, peak maximum, peak minimum, negative bar

The text has no prefix, and which prefix goes with which range was not found. So a number is made only where
the function itself says in what the display counts: V, microamperes, milliamperes, amperes, percent. Of
hertz, ohms, farads and the millivolt functions no number is made. Hfe, diode, field, low pass and AC + DC
pass as numbers without unit.

Source: a hobbyist's page of notes; the sums of its four examples were checked. That an overload shows as a
text with OL in it, and that the low nibble alone carries the range and the flags, are assumptions.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass

from meterlog.quantity import Unit
from meterlog.reading import HOLD, MAXIMUM, MINIMUM, RELATIVE, Coupling, Indication, Line
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.figures import BLANK, NO_NUMBER, OVERLOAD, Count, count, indication, lit
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.framing import Window

HEADER = b"\xab\xcd"
REQUEST = bytes.fromhex("AB CD 03 5E 01 D9")
ANSWER = 16
LENGTHS = frozenset({3, 4, ANSWER})
"""Of a command, of an acknowledgement, of an answer: any other length byte is damaged."""
NUMBER = re.compile(r"(-?) *([0-9]+)(?:\.([0-9]+))?")
DC, AC, ACDC, NONE = Coupling.DC, Coupling.AC, Coupling.ACDC, Coupling.NONE


@dataclass(frozen=True, slots=True)
class Measured:
    """power: of ten, between the text and the base unit; None where it is not known."""

    function: str
    unit: Unit = Unit.NONE
    coupling: Coupling = NONE
    power: int | None = 0
    flags: frozenset[str] = frozenset()


MEASURED = {
    0x00: Measured("voltage", Unit.VOLT, AC),
    0x01: Measured("voltage", Unit.VOLT, AC, None),
    0x02: Measured("voltage", Unit.VOLT, DC),
    0x03: Measured("voltage", Unit.VOLT, DC, None),
    0x04: Measured("frequency", Unit.HERTZ, NONE, None),
    0x05: Measured("duty", Unit.PERCENT),
    0x06: Measured("resistance", Unit.OHM, NONE, None),
    0x07: Measured("continuity", Unit.OHM, NONE, None),
    0x08: Measured("diode"),
    0x09: Measured("capacitance", Unit.FARAD, NONE, None),
    0x0C: Measured("current", Unit.AMPERE, DC, -6),
    0x0D: Measured("current", Unit.AMPERE, AC, -6),
    0x0E: Measured("current", Unit.AMPERE, DC, -3),
    0x0F: Measured("current", Unit.AMPERE, AC, -3),
    0x10: Measured("current", Unit.AMPERE, DC),
    0x11: Measured("current", Unit.AMPERE, AC),
    0x12: Measured("hfe"),
    0x14: Measured(""),
    0x18: Measured("", Unit.NONE, AC, 0, frozenset({"lpf"})),
    0x19: Measured("", Unit.NONE, ACDC),
}
OTHER = Measured("")


def _length(head: bytes) -> int:
    """See `framing.Length`."""
    if not HEADER.startswith(head[:2]):
        return 0
    if len(head) < 3:
        return 3
    size = 3 + head[2]
    if head[2] not in LENGTHS or (len(head) >= size and not _sums_up(head[:size])):
        return 0
    return size


def _sums_up(frame: bytes) -> bool:
    return sum(frame[:-2]) & 0xFFFF == int.from_bytes(frame[-2:])


def read(frame: bytes, at_ns: int) -> Sequence[Indication]:
    """What a frame with a right sum shows; commands and acknowledgements show nothing."""
    if frame[2] != ANSWER:
        return []
    payload = frame[3:-2]
    measured = MEASURED.get(payload[0], OTHER)
    seen = lit(payload[11], MAXIMUM, MINIMUM, HOLD, RELATIVE) | lit(payload[12], "manual", "", "")
    peaks = lit(payload[13], "error", "pmax", "pmin", "")
    counted = NO_NUMBER if "error" in peaks else _count(payload[2:9], measured.power)
    flags = seen | measured.flags | peaks - {"error"}
    return [
        indication(
            at_ns, frame, counted, measured.unit, measured.function, coupling=measured.coupling, flags=flags
        )
    ]


def _count(shown: bytes, power: int | None) -> Count:
    text = shown.decode("ascii", "replace").strip()
    if not text:
        return BLANK
    if "OL" in text:
        return OVERLOAD
    found = NUMBER.fullmatch(text)
    if found is None or power is None:
        return NO_NUMBER
    sign, digits, behind = found[1], found[2], found[3] or ""
    return count(digits + behind, power - len(behind), minus=sign == "-")


FORMAT = Format(
    name="abcd-sum16",
    sends="9600 baud, 8N1",
    line=Line(baud=9600),
    decoder=lambda: Window(_length, read),
    functions=frozenset({"voltage", "current", "duty"}),
    look_at="is the meter on, its communication switched on, the lead seated?",
    period_s=0.25,  # how often it measures was not found; faster asking would only give echoes
    question=REQUEST,
    unknown="which prefix belongs to which range of Hz, ohm, F and mV is not known: no numbers of them",
)
driver = Handheld("newer hand-held meters that answer a request with AB CD and a sum", {"": FORMAT})
