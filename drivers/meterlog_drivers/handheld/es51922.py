"""Hand-held meters with the ES51922 chip: 22 000 counts, 19 230 baud 7O1, 14-byte blocks, about two a second.

The meter talks by itself as long as DTR is set; its RS232 output has to be switched on. A block:

    range, digits 4..0, function, status, options 1 2 3 4, CR, LF        (see `es519` for the bytes)

    status     judge, minus, low battery, overload     judge: 1 frequency, 0 duty
    option 1   maximum, minimum, relative, RMR         RMR: what it means was not found
    option 2   underload, peak maximum, peak minimum, always 0
    option 3   DC, AC, auto, VAHZ
    option 4   always 0, VBAR, hold, low pass          VBAR: currents go over a shunt outside

The ranges stand in the table below by range code. Not found, so no number is made of them: the scaling of
duty, temperature and adapter. Memory or analogy, not print: automatic currents without VBAR, diode in the
first volt range, continuity in the first ohm range.

Source: data sheet ES51922 as a hobbyist transcribed it; two blogs for DTR, pace and six example lines.
19 200 baud is 0.16 % off 19 230 and does.
"""

from meterlog.quantity import Unit
from meterlog.reading import AUTO, HOLD, LOW_BATTERY, MAXIMUM, MINIMUM, RELATIVE, Line
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.es519 import (
    FIXED_0,
    HERTZ_BESIDE,
    JUDGE,
    MINUS,
    OVERLOADED,
    SHUNT,
    UNDERLOADED,
    Chip,
    Measured,
)
from meterlog_drivers.handheld.figures import ranges
from meterlog_drivers.handheld.format import OPTICAL_LEAD, Format

FUNCTIONS = {
    0x0: Measured("current", Unit.AMPERE, ranges("22.000")),
    0x1: Measured("diode", Unit.VOLT, ranges("2.2000")),
    0x2: Measured("duty", Unit.PERCENT, None),
    0x3: Measured("resistance", Unit.OHM, ranges("220.00 2.2000k 22.000k 220.00k 2.2000M 22.000M 220.00M")),
    0x4: Measured("temperature", Unit.NONE, None),
    0x5: Measured("continuity", Unit.OHM, ranges("220.00")),
    0x6: Measured(
        "capacitance",
        Unit.FARAD,
        ranges("22.000n 220.00n 2.2000u 22.000u 220.00u 2.2000m 22.000m 220.00m"),
    ),
    0x9: Measured("current", Unit.AMPERE, ranges("2.2000 22.000 220.00 2200.0 22000")),
    0xB: Measured("voltage", Unit.VOLT, ranges("2.2000 22.000 220.00 2200.0 220.00m")),
    0xD: Measured("current", Unit.AMPERE, ranges("220.00u 2200.0u")),
    0xE: Measured("", Unit.NONE, None),  # adapter
    0xF: Measured("current", Unit.AMPERE, ranges("22.000m 220.00m")),
}
INSTEAD = {
    (0x2, JUDGE): Measured(
        "frequency", Unit.HERTZ, ranges("22.00 220.0 - 22.000k 220.00k 2.2000M 22.000M 220.00M")
    ),
    (0xD, SHUNT): Measured("current", Unit.AMPERE, ranges("220.00 2200.0")),
    (0xF, SHUNT): Measured("current", Unit.AMPERE, ranges("22.000 220.00")),
}
CHIP = Chip(
    digits=5,
    functions=FUNCTIONS,
    instead=INSTEAD,
    status=(JUDGE, MINUS, LOW_BATTERY, OVERLOADED),
    options=(
        (MAXIMUM, MINIMUM, RELATIVE, ""),
        (UNDERLOADED, "pmax", "pmin", FIXED_0),
        ("dc", "ac", AUTO, HERTZ_BESIDE),
        (FIXED_0, SHUNT, HOLD, "lpf"),
    ),
    flags=frozenset(
        {
            MAXIMUM,
            MINIMUM,
            RELATIVE,
            UNDERLOADED,
            "pmax",
            "pmin",
            AUTO,
            HERTZ_BESIDE,
            HOLD,
            "lpf",
            LOW_BATTERY,
        }
    ),
)
FORMAT = Format(
    name="es51922",
    sends="19200 baud, 7O1 (the port is opened 8N1, so that the parity can be seen)",
    line=Line(baud=19200, dtr=True, rts=False),
    decoder=CHIP.decoder,
    functions=frozenset(
        {"voltage", "current", "resistance", "continuity", "diode", "capacitance", "frequency"}
    ),
    look_at=f"is the meter on, its data output switched on, {OPTICAL_LEAD}?",
    period_s=0.5,
    unknown="how this chip scales duty, temperature and its adapter is not known: no numbers of them",
)
driver = Handheld(
    "hand-held meters with the ES51922 chip (22 000 counts), over their serial lead", {"": FORMAT}
)
