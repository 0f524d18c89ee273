"""Hand-held meters with the smaller chips of the ES519xx family: 7O1, 11-byte blocks, each sent twice.

The meter talks by itself as long as DTR is set; its data output has to be switched on. A block:

    range, digits 3..0, function, status, options 1 2, CR, LF        (see `es519` for the bytes)

    dialect ""          4000 counts, 2400 baud (ES51961 and its like)
        status          judge, minus, low battery, overload     judge: 1 hertz, 0 revolutions a minute
        option 1        bit 0 VAHZ (memory); the others are not known
        option 2        DC, AC, auto, auto power off (memory)
    dialect "es51960"   4000 counts, 2400 baud, an older relative
        status          minus, low battery, AC offset, overload
        option 2        DC (else AC), auto, manual, auto power off
    dialect "6000"      6000 counts, 19 230 baud (ES51985, ES51986)
        option 1        hold, maximum, minimum, VAHZ (memory)

Which: a display that counts to 4000 is "", unless AC shows as DC or the sign is wrong; then it is
"es51960". The blocks of the two look alike. How the 6000-count chips place their points was not found:
dialect "6000" tells function, overload and coupling, and no number. If every range that you use shows the
point where the table below has it, read such a meter with dialect "" and `baud = 19200` in [meter.line].

What the meter sends is live even while its display is held. Under overload the digits are 4000. Not known,
so no number is made of them: the ranges of microamperes, amperes and diode.

Source: manuals of two hand-held meters; data sheets ES51960 page 16, ES51961 page 19, ES51985 page 12.
That continuity shares the first ohm range is an assumption. Revolutions have no unit here.
"""

from dataclasses import replace

from meterlog.quantity import Unit
from meterlog.reading import AUTO, HOLD, LOW_BATTERY, MAXIMUM, MINIMUM, Line
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.es519 import HERTZ_BESIDE, JUDGE, MINUS, OVERLOADED, Chip, Measured
from meterlog_drivers.handheld.figures import ranges
from meterlog_drivers.handheld.format import OPTICAL_LEAD, Format
from meterlog_drivers.handheld.repeats import REPEAT_S

OHMS = ranges("400.0 4.000k 40.00k 400.0k 4.000M 40.00M")
FUNCTIONS = {
    0x1: Measured("diode", Unit.VOLT, None),
    0x2: Measured("frequency", Unit.NONE, ranges("40.00k 400.0k 4.000M 40.00M 400.0M 4000M")),
    0x3: Measured("resistance", Unit.OHM, OHMS),
    0x5: Measured("continuity", Unit.OHM, OHMS[:1]),
    0x6: Measured(
        "capacitance", Unit.FARAD, ranges("4.000n 40.00n 400.0n 4.000u 40.00u 400.0u 4.000m 40.00m")
    ),
    0x9: Measured("current", Unit.AMPERE, ranges("40.00m 400.0m")),
    0xB: Measured("voltage", Unit.VOLT, ranges("400.0m 4.000 40.00 400.0 4000")),
    0xD: Measured("current", Unit.AMPERE, None),
    0xF: Measured("current", Unit.AMPERE, None),
}
HERTZ = Measured("frequency", Unit.HERTZ, ranges("4.000k 40.00k 400.0k 4.000M 40.00M 400.0M"))
FLAGS = frozenset({HOLD, MAXIMUM, MINIMUM, AUTO, "manual", "apo", LOW_BATTERY, HERTZ_BESIDE})

COUNTS_4000 = Chip(
    digits=4,
    functions=FUNCTIONS,
    instead={(0x2, JUDGE): HERTZ},
    status=(JUDGE, MINUS, LOW_BATTERY, OVERLOADED),
    options=(("", "", "", HERTZ_BESIDE), ("dc", "ac", AUTO, "apo")),
    flags=FLAGS,
)
ES51960 = replace(
    COUNTS_4000,
    functions=FUNCTIONS | {0x2: Measured("frequency", Unit.NONE, None)},
    instead={},
    status=(MINUS, LOW_BATTERY, "", OVERLOADED),
    options=(("", "", "", ""), ("dc", AUTO, "manual", "apo")),
    dc_or_ac=True,
)
COUNTS_6000 = replace(
    COUNTS_4000,
    functions={code: replace(measured, ranges=None) for code, measured in FUNCTIONS.items()},
    instead={(0x2, JUDGE): replace(HERTZ, ranges=None)},
    options=((HOLD, MAXIMUM, MINIMUM, HERTZ_BESIDE), ("dc", "ac", AUTO, "apo")),
)

FORMAT = Format(
    name="es519-11",
    sends="2400 baud, 7O1 (the port is opened 8N1, so that the parity can be seen)",
    line=Line(baud=2400, dtr=True, rts=False),
    decoder=COUNTS_4000.decoder,
    functions=frozenset({"voltage", "current", "resistance", "continuity", "capacitance", "frequency"}),
    look_at=f"is the meter on, its data output switched on, {OPTICAL_LEAD}?",
    repeat_s=REPEAT_S,
    unknown="how this chip scales microamperes, amperes and diode is not known: no numbers of them",
)
OLDER = replace(FORMAT, decoder=ES51960.decoder)
FASTER = replace(
    FORMAT,
    sends="19200 baud, 7O1 (the port is opened 8N1, so that the parity can be seen)",
    line=replace(FORMAT.line, baud=19200),
    decoder=COUNTS_6000.decoder,
    unknown="where the 6000-count chips place their points is not known, so no number is given: if they "
    "stand as with 4000 counts in each range that you use, leave dialect out and write baud = 19200 in "
    "[meter.line]",
)
driver = Handheld(
    "hand-held meters with smaller ES519xx chips (11-byte blocks), over their serial lead",
    {"": FORMAT, "es51960": OLDER, "6000": FASTER},
    alike=frozenset({"es51960"}),
)
