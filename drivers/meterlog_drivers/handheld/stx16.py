"""Hand-held instruments that send sixteen characters by themselves: 9600 8N1, from a jack or an optical lead.

    STX 4 d uu p n dddddddd CR

    d           display: 1 upper, 2 lower; thermometers number their channels 1 to 4
    uu          unit, two characters: see the table
    p           sign: 0 plus, 1 minus
    n           digits behind the point, 0 to 3
    dddddddd    eight digits, the most significant first

A channel of the bench for each display: `display = 2` for the lower one. Sound, light, vibration and pH
meters send the same frame with unit codes of their own: what is not in the table passes as a number without
unit. How an overload is sent was not found. A thermometer that packs two readings into one frame is not
read: the manual that was found does not say which sign and which point belong to which.

Source: manuals of five instruments. No checksum.
"""

from collections.abc import Sequence

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication, Line
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.figures import PREFIXES, count, indication
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.framing import Window, fixed

FRAME_BYTES = 16
STX, CR = 0x02, 0x0D

V, A, OHM, HERTZ, FARAD, HENRY = (
    (Unit.VOLT, "voltage"),
    (Unit.AMPERE, "current"),
    (Unit.OHM, "resistance"),
    (Unit.HERTZ, "frequency"),
    (Unit.FARAD, "capacitance"),
    (Unit.HENRY, "inductance"),
)
DC, AC, NONE = Coupling.DC, Coupling.AC, Coupling.NONE
UNITS = {  # code: (unit, function), prefix, coupling
    "18": (V, "m", DC), "34": (V, "", DC), "35": (A, "u", DC), "37": (A, "m", DC), "36": (A, "", DC),
    "49": (V, "m", AC), "50": (V, "", AC), "51": (A, "u", AC), "53": (A, "m", AC), "52": (A, "", AC),
    "38": (OHM, "", NONE), "39": (OHM, "k", NONE), "40": (OHM, "M", NONE),
    "31": (HERTZ, "", NONE), "33": (HERTZ, "k", NONE), "67": (HERTZ, "M", NONE),
    "A4": (FARAD, "p", NONE), "43": (FARAD, "n", NONE), "44": (FARAD, "u", NONE),
    "68": (HENRY, "u", NONE), "41": (HENRY, "m", NONE), "42": (HENRY, "", NONE),
    "01": ((Unit.CELSIUS, "temperature"), "", NONE), "02": ((Unit.FAHRENHEIT, "temperature"), "", NONE),
    "46": ((Unit.VOLT, "diode"), "", NONE),
}  # fmt: skip
UNKNOWN = ((Unit.NONE, ""), "", NONE)


def _fits(frame: bytes) -> bool:
    return (
        frame[0] == STX
        and frame[1] == ord("4")
        and frame[2] in b"1234"
        and frame[3:5].isalnum()
        and frame[5] in b"01"
        and frame[6] in b"0123"
        and frame[7:15].isdigit()
        and frame[15] == CR
    )


def read(frame: bytes, at_ns: int) -> Sequence[Indication]:
    """What 16 characters that fit show."""
    (unit, function), prefix, coupling = UNITS.get(frame[3:5].decode("ascii"), UNKNOWN)
    exponent = PREFIXES[prefix] - int(frame[6:7])
    counted = count(frame[7:15].decode("ascii"), exponent, minus=frame[5] == ord("1"))
    display = int(frame[2:3])
    return [indication(at_ns, frame, counted, unit, function, coupling=coupling, display=display)]


FORMAT = Format(
    name="stx16",
    sends="9600 baud, 8N1",
    line=Line(baud=9600),
    decoder=lambda: Window(fixed(FRAME_BYTES, _fits), read),
    functions=frozenset(function for (_, function), _, _ in UNITS.values()),
    look_at="is the instrument on, its data output switched on, the plug of the lead right in?",
    displays=4,
    period_s=1.0,
)
driver = Handheld(
    "hand-held instruments that send 16 characters after STX, one or more displays", {"": FORMAT}
)
