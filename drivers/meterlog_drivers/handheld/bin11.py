"""Bench meters that send eleven bytes by themselves, twice for each conversion: 9600 7N2.

    byte    content
    1       bit 3 minus, bit 2 low battery, bit 0 overload; the others are 0
    2-5     four digits
    6       what is measured: 0 V DC, 1 V AC, 2 mA DC, 3 mA AC, 4 ohm, 5 continuity, 6 diode, 7 adapter,
            8 A DC, 9 A AC, 10 Hz, 12 capacitance
    7       range: see the table
    8       bits 3..0  maximum, minimum, relative, hold
    9       bits 3..0  memory, auto, manual, auto power off
    10, 11  CR LF

Byte 6 is LF under Hz, byte 9 can be CR: lines are no frames. Opened as 8N1, the first stop bit is the
eighth bit. No checksum. Diode reads in the volt ranges, continuity in those of ohms (an assumption). Not
found, so no number is made of them: the scaling of the ampere ranges and of the adapter. The table has the
full scales of Hz in words only; that they show four digits is an assumption.

Source: a page that quotes the maker's table.
"""

from collections.abc import Sequence

from meterlog.quantity import Unit
from meterlog.reading import (
    AUTO,
    HOLD,
    LOW_BATTERY,
    MAXIMUM,
    MINIMUM,
    RELATIVE,
    Coupling,
    Indication,
    Line,
)
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.figures import (
    NO_NUMBER,
    OVERLOAD,
    Count,
    Range,
    at_most_one,
    count,
    indication,
    lit,
    ranges,
)
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.framing import Window, fixed, seven_bits
from meterlog_drivers.handheld.repeats import REPEAT_S

FRAME_BYTES = 11
VOLTS = ranges("400.0m 4.000 40.00 400.0 4000")
MILLIAMPERES = ranges("4.000m 40.00m 400.0m 4000m")
OHMS = ranges("400.0 4.000k 40.00k 400.0k 4.000M 40.00M")
HERTZ = ranges("10.00k 100.0k 1000k - - 100.0 1000")
FARADS = ranges("4.000n 40.00n 400.0n 4.000u 40.00u")
DC, AC, NONE = Coupling.DC, Coupling.AC, Coupling.NONE
MEASURED: dict[int, tuple[str, Unit, Coupling, tuple[Range | None, ...] | None]] = {
    0: ("voltage", Unit.VOLT, DC, VOLTS),
    1: ("voltage", Unit.VOLT, AC, VOLTS),
    2: ("current", Unit.AMPERE, DC, MILLIAMPERES),
    3: ("current", Unit.AMPERE, AC, MILLIAMPERES),
    4: ("resistance", Unit.OHM, NONE, OHMS),
    5: ("continuity", Unit.OHM, NONE, OHMS),
    6: ("diode", Unit.VOLT, NONE, VOLTS),
    7: ("", Unit.NONE, NONE, None),
    8: ("current", Unit.AMPERE, DC, None),
    9: ("current", Unit.AMPERE, AC, None),
    10: ("frequency", Unit.HERTZ, NONE, HERTZ),
    12: ("capacitance", Unit.FARAD, NONE, FARADS),
}


def _fits(frame: bytes) -> bool:
    seven = seven_bits(frame)
    return (
        seven[0] & 0b1111_0010 == 0
        and seven[1:5].isdigit()
        and seven[5] in MEASURED
        and seven[6] < 8
        and max(seven[7:9]) < 16
        and seven[9:11] == b"\r\n"
    )


def read(frame: bytes, at_ns: int) -> Sequence[Indication] | None:
    """What eleven bytes that fit show; None if the tables do not allow it."""
    frame = seven_bits(frame)
    seen = (
        lit(frame[0], "minus", LOW_BATTERY, "", "overload")
        | lit(frame[7], MAXIMUM, MINIMUM, RELATIVE, HOLD)
        | lit(frame[8], "mem", AUTO, "manual", "apo")
    )
    function, unit, coupling, own = MEASURED[frame[5]]
    chosen = own[frame[6]] if own and frame[6] < len(own) else None
    if (own and chosen is None) or not at_most_one(seen, (AUTO, "manual")):
        return None
    return [
        indication(
            at_ns,
            frame,
            _count(frame, chosen, seen),
            unit,
            function,
            coupling=coupling,
            range_max=chosen.full if chosen else None,
            flags=seen - {"minus", "overload"},
        )
    ]


def _count(frame: bytes, chosen: Range | None, seen: frozenset[str]) -> Count:
    if "overload" in seen:
        return OVERLOAD
    if chosen is None:
        return NO_NUMBER
    return count(frame[1:5].decode("ascii"), chosen.exponent, minus="minus" in seen)


FORMAT = Format(
    name="bin11",
    sends="9600 baud, 7N2 (opened 8N1)",
    line=Line(baud=9600),
    decoder=lambda: Window(fixed(FRAME_BYTES, _fits), read),
    functions=frozenset(function for function, *_ in MEASURED.values() if function),
    look_at="is the meter on, its serial output switched on, the cable seated?",
    repeat_s=REPEAT_S,
    unknown="how this meter scales amperes and its adapter is not known: no numbers of them",
)
driver = Handheld("bench meters that send 11 bytes twice for each conversion, 9600 baud", {"": FORMAT})
