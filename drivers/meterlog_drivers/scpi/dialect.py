"""What differs between instruments that all speak SCPI, as data.

Source: makers' manuals of four meter families for the AC filter (commands, steps, settling); SCPI-1999
vol. 2 for the headers. CAP, CONT and DIOD are dialect, from memory; the error queue tells where they
are missing.
"""

from collections.abc import Mapping
from dataclasses import dataclass

from meterlog.quantity import Unit
from meterlog.reading import Coupling


@dataclass(frozen=True, slots=True)
class Function:
    """header: what CONF is followed by; integration_s: the time one reading takes at usual settings."""

    name: str
    header: str
    unit: Unit
    coupling: Coupling = Coupling.NONE
    integration_s: float = 0.4


FUNCTIONS = (
    Function("voltage", "VOLT:DC", Unit.VOLT, Coupling.DC),
    Function("voltage", "VOLT:AC", Unit.VOLT, Coupling.AC),
    Function("current", "CURR:DC", Unit.AMPERE, Coupling.DC),
    Function("current", "CURR:AC", Unit.AMPERE, Coupling.AC),
    Function("resistance", "RES", Unit.OHM),
    Function("frequency", "FREQ", Unit.HERTZ, integration_s=2.0),
    Function("capacitance", "CAP", Unit.FARAD, integration_s=2.0),
    Function("continuity", "CONT", Unit.OHM),
    Function("diode", "DIOD", Unit.VOLT),
)

FINE_INTEGRATION_S = 4.0
"""With a resolution asked for: 100 power-line cycles at 50 Hz and as long again for the auto zero."""


@dataclass(frozen=True, slots=True)
class AcFilter:
    """command: takes the lowest frequency that must pass; steps_hz: what the family can choose from."""

    command: str
    steps_hz: tuple[float, ...]

    def step_hz(self, wanted_hz: float) -> float:
        """The highest step that still lets wanted_hz through, as these meters pick it themselves."""
        return max(step for step in self.steps_hz if step <= wanted_hz)


AC_FILTERS = (
    AcFilter("{header}:BAND", (3.0, 20.0, 200.0)),
    AcFilter("{header}:DET:BAND", (3.0, 30.0, 300.0)),
    AcFilter("DET:BAND", (3.0, 20.0, 200.0)),
)
LOWEST_FILTER_HZ = 3.0
USUAL_FILTER_HZ = 20.0

UNKNOWN_HEADER = frozenset({-113, -100, -110})
"""-113 in most instruments, -100 or -110 in some."""


def settling_s(filter_hz: float) -> float:
    """How long a meter may wait for its AC filter before one reading: the slowest family's delay."""
    if filter_hz < 20.0:
        return 7.0
    return 1.0 if filter_hz < 200.0 else 0.6


SUFFIX_MEANINGS: Mapping[str, tuple[Unit, Coupling]] = {
    "VDC": (Unit.VOLT, Coupling.DC),
    "VAC": (Unit.VOLT, Coupling.AC),
    "ADC": (Unit.AMPERE, Coupling.DC),
    "AAC": (Unit.AMPERE, Coupling.AC),
    "OHM": (Unit.OHM, Coupling.NONE),
    "OHMS": (Unit.OHM, Coupling.NONE),
    "OHM4W": (Unit.OHM, Coupling.NONE),
    "HZ": (Unit.HERTZ, Coupling.NONE),
    "C": (Unit.CELSIUS, Coupling.NONE),
    "F": (Unit.FAHRENHEIT, Coupling.NONE),
}


@dataclass(frozen=True, slots=True)
class Format:
    """How readings are sent. layout: as in `struct`, empty for text."""

    commands: tuple[str, ...] = ()
    layout: str = ""


FORMATS = {
    "ascii": Format(),
    "real32": Format(("FORM:DATA REAL,32", "FORM:BORD NORM"), ">f"),
    "real64": Format(("FORM:DATA REAL,64", "FORM:BORD NORM"), ">d"),
    "real32-swapped": Format(("FORM:DATA REAL,32", "FORM:BORD SWAP"), "<f"),
    "real64-swapped": Format(("FORM:DATA REAL,64", "FORM:BORD SWAP"), "<d"),
}

TERMINATORS = {"lf": b"\n", "crlf": b"\r\n", "cr": b"\r"}
