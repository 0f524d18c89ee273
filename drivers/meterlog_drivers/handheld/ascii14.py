"""Older hand-held meters that answer a letter with 14 characters: 600 or 1200 baud 7N2.

The computer sends D, the meter answers once, at its own pace of two to three a second:

    2 characters    DC, AC, OH, FR, CA, blank or others
    7 characters    sign and number, with the point; letters (O.L, .OL, -OL) where it is overloaded
    4 characters    unit with prefix, V mV mA Ohm KOhm MOhm KHz nF and their like, also in small letters
    CR

    dialect     baud    question
    ""          1200    D
    "1200-cr"   1200    D CR
    "600"       600     D
    "600-cr"    600     D CR

The speed stands in the meter's manual. One description has a CR behind the D: if a meter stays silent
though the lead and the speed are right, take the dialect with CR. The lead is fed from DTR (+) and RTS (-).
Opened as 8N1, the first stop bit is the eighth bit. Nothing in the answer says to which question it is.

Source: a message to a mailing list, a blog (line, lead). The letters OH, FR, CA and those of an overload
are from memory. A unit that is not known passes as a number without unit.
"""

import re
from collections.abc import Sequence
from dataclasses import replace

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication, Line
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.figures import BLANK, NO_NUMBER, OVERLOAD, PREFIXES, Count, count, indication
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.framing import Lines, Masked

END = b"\r"
BODY = range(0x20, 0x7F)
NUMBER = re.compile(r"([+-]?) *([0-9]*)\.?([0-9]*)")
UNIT = re.compile(r"([pnumMkK]?)(V|A|[Oo]hm|OHM|[Hh][Zz]|F|H|%)")
UNITS = {
    "V": (Unit.VOLT, "voltage"),
    "A": (Unit.AMPERE, "current"),
    "OHM": (Unit.OHM, "resistance"),
    "HZ": (Unit.HERTZ, "frequency"),
    "F": (Unit.FARAD, "capacitance"),
    "H": (Unit.HENRY, "inductance"),
    "%": (Unit.PERCENT, "duty"),
}
COUPLINGS = {"DC": Coupling.DC, "AC": Coupling.AC}
TELLING = frozenset({"DC", "AC", "OH", "FR", "CA", ""})
"""Letters beside which the unit tells the function; beside others (a diode test shows volts) it may not."""


def read(frame: bytes, at_ns: int) -> Sequence[Indication] | None:
    """What 13 characters and CR show; None if the number is torn."""
    text = frame.decode("ascii")
    letters, number = text[:2].strip(), text[2:9].strip()
    unit, function, exponent = _unit(text[9:13].strip())
    counted = _count(number, exponent)
    if counted is None:
        return None
    function = function if letters in TELLING else ""
    coupling = COUPLINGS.get(letters, Coupling.NONE)
    return [indication(at_ns, frame, counted, unit, function, coupling=coupling)]


def _unit(text: str) -> tuple[Unit, str, int]:
    found = UNIT.fullmatch(text)
    if not found:
        return Unit.NONE, "", 0
    prefix, name = found.groups()
    return *UNITS[name.upper()], PREFIXES[prefix.replace("K", "k")]


def _count(number: str, exponent: int) -> Count | None:
    if not number:
        return BLANK
    if re.search("[A-Za-z]", number):
        bare = number.lstrip("+-").replace(".", "").replace(" ", "").upper()
        return OVERLOAD if bare in ("OL", "0L") else NO_NUMBER
    found = NUMBER.fullmatch(number)
    if not found or not (found[2] or found[3]):
        return None
    return count(found[2] + found[3], exponent - len(found[3]), minus=found[1] == "-")


FORMAT = Format(
    name="ascii14",
    sends="1200 baud, 7N2 (opened 8N1)",
    line=Line(baud=1200, dtr=True, rts=False),
    decoder=lambda: Lines(14, END, BODY, Masked(), read),
    functions=frozenset(function for _, function in UNITS.values()),
    look_at="is the meter on, its lead seated and fed (DTR on, RTS off), its speed the one of its manual? "
    'Some need a CR behind the question: dialect "1200-cr" or "600-cr"',
    period_s=0.35,
    question=b"D",
)
SLOW = replace(FORMAT, sends="600 baud, 7N2 (opened 8N1)", line=replace(FORMAT.line, baud=600), answer_s=1.5)
driver = Handheld(
    "older hand-held meters that answer D with 14 characters, 600 or 1200 baud",
    {
        "": FORMAT,
        "1200-cr": replace(FORMAT, question=b"D\r"),
        "600": SLOW,
        "600-cr": replace(SLOW, question=b"D\r"),
    },
)
