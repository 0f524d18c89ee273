"""Hand-held meters with the FS9922-DMM3 (4000 counts) or -DMM4 (6000) chip: 2400 baud 8N1, 14-byte frames.

The meter talks by itself. Its data output often has to be switched on at the meter.

    byte    content
    1       + or -
    2-5     four digits without a point; ?0:? where it is overloaded
    6       blank
    7       where the point is: 0 none, 1 d.ddd, 2 dd.dd, 4 ddd.d
    8       bits 5..0  auto, DC, AC, relative, hold, bar shown; 7 and 6 are 0
    9       bits 5..0  maximum, minimum, auto power off, low battery, nano, unused; 7 and 6 are 0
    10      bits 7..0  micro, milli, kilo, mega, beep, diode, percent, unused
    11      bits 7..0  volt, ampere, ohm, hFE, hertz, farad, Celsius, Fahrenheit
    12      bar: bit 7 its sign, the others its length
    13, 14  CR LF

Bytes 8 and 12 can be CR or LF themselves (0A: AC and hold), so lines are no frames. No checksum.

Source: a hobbyist's page of notes (bytes 1-9 and 12-14); the data sheets FS9922-DMM3 and -DMM4 from memory
(auto power off, low battery and nano in byte 9; bytes 10 and 11). hFE has no unit.
"""

from collections.abc import Sequence

from meterlog.quantity import Unit
from meterlog.reading import AUTO, HOLD, LOW_BATTERY, MAXIMUM, MINIMUM, RELATIVE, Indication, Line
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.figures import (
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
DIGITS_BEHIND = {ord("0"): 0, ord("1"): 3, ord("2"): 2, ord("4"): 1}
OVERLOADED = b"?0:?"
BITS = {  # by byte, the highest bit that is used first
    8: (AUTO, "dc", "ac", RELATIVE, HOLD, ""),
    9: (MAXIMUM, MINIMUM, "apo", LOW_BATTERY, "nano", ""),
    10: ("micro", "milli", "kilo", "mega", "beep", "diode", "percent", ""),
    11: ("volt", "ampere", "ohm", "hfe", "hertz", "farad", "celsius", "fahrenheit"),
}
PREFIXES = {"nano": -9, "micro": -6, "milli": -3, "kilo": 3, "mega": 6}
UNITS = {
    "volt": (Unit.VOLT, "voltage"),
    "ampere": (Unit.AMPERE, "current"),
    "ohm": (Unit.OHM, "resistance"),
    "hfe": (Unit.NONE, "hfe"),
    "hertz": (Unit.HERTZ, "frequency"),
    "farad": (Unit.FARAD, "capacitance"),
    "celsius": (Unit.CELSIUS, "temperature"),
    "fahrenheit": (Unit.FAHRENHEIT, "temperature"),
    "percent": (Unit.PERCENT, "duty"),
}
SPECIAL_FUNCTIONS = {("volt", "diode"): "diode", ("ohm", "beep"): "continuity"}
FLAGS = frozenset({AUTO, RELATIVE, HOLD, MAXIMUM, MINIMUM, "apo", LOW_BATTERY})


def _fits(frame: bytes) -> bool:
    digits = frame[1:5]
    return (
        frame[0] in b"+-"
        and (digits == OVERLOADED or digits.isdigit())
        and frame[5] == ord(" ")
        and frame[6] in DIGITS_BEHIND
        and frame[7] < 0x40
        and frame[8] < 0x40
        and frame[12:14] == b"\r\n"
    )


def read(frame: bytes, at_ns: int) -> Sequence[Indication] | None:
    """What 14 bytes that fit show; None if no display lights these annunciators together."""
    seen = frozenset().union(*(lit(frame[place - 1], *names) for place, names in BITS.items()))
    if not at_most_one(seen, PREFIXES, UNITS, ("ac", "dc"), (MAXIMUM, MINIMUM)):
        return None
    unit, function = measured_in(seen, UNITS, SPECIAL_FUNCTIONS)
    counted = _count(frame, seen)
    return [indication(at_ns, frame, counted, unit, function, coupling=coupling_in(seen), flags=seen & FLAGS)]


def _count(frame: bytes, seen: frozenset[str]) -> Count:
    if frame[1:5] == OVERLOADED:
        return OVERLOAD
    power = exponent_in(seen, PREFIXES)
    return count(frame[1:5].decode("ascii"), power - DIGITS_BEHIND[frame[6]], minus=frame[0] == ord("-"))


FORMAT = Format(
    name="fs9922",
    sends="2400 baud, 8N1",
    line=Line(baud=2400, dtr=True, rts=False),
    decoder=lambda: Window(fixed(FRAME_BYTES, _fits), read),
    functions=frozenset({function for _, function in UNITS.values()} | {"diode", "continuity"}) - {"hfe"},
    look_at=f"is the meter on, its data output switched on, {OPTICAL_LEAD}?",
)
driver = Handheld("hand-held meters with the FS9922-DMM3 or -DMM4 chip, over their serial lead", {"": FORMAT})
