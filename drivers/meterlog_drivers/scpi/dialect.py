"""What differs between instruments that all speak SCPI, as the files in `dialects/` say it.

Everything here is data; `meterlog_drivers.scpi.dialect_file` reads it.
"""

from collections.abc import Mapping
from dataclasses import field
from typing import Annotated, Literal

from pydantic import Field, field_validator
from pydantic.dataclasses import dataclass

from meterlog.files import LineTable
from meterlog.quantity import Unit
from meterlog.reading import Coupling
from meterlog_drivers.scpi.dialect_tables import (
    STRICT,
    AcFilter,
    Asking,
    Command,
    Errors,
    Format,
    Function,
    Integration,
    Memory,
    Panel,
    Positive,
    Probe,
    Remote,
    Second,
)

TERMINATORS = {"lf": b"\n", "crlf": b"\r\n", "cr": b"\r"}

UNITS: Mapping[str, Unit] = {
    "voltage": Unit.VOLT,
    "current": Unit.AMPERE,
    "resistance": Unit.OHM,
    "frequency": Unit.HERTZ,
    "capacitance": Unit.FARAD,
    "continuity": Unit.OHM,
    "diode": Unit.VOLT,
}

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


Element = Literal["reading", "time", "number", "channel", "limit"]


@dataclass(frozen=True, config=STRICT)
class Dialect:
    """One file. See `dialect_tables` for its tables.

    identity      *IDN? holds one of these; empty where that tells nothing
    clear         what stops an answer on a serial line (device clear)
    overload      the number sent for overload; not_a_number likewise
    setup         sent once, after the function is configured
    elements      what each reading is made of; without it units tell readings from the rest
    """

    name: str
    summary: Annotated[str, Field(min_length=10)]
    function: Annotated[dict[str, Function], Field(min_length=1)]
    identity: tuple[str, ...] = ()
    probe: Probe | None = None
    terminator: Literal["lf", "crlf", "cr"] = "lf"
    clear: Annotated[str, Field(max_length=4)] = ""
    overload: Positive = 9.9e37
    not_a_number: Positive = 9.91e37
    setup: tuple[Command, ...] = ()
    elements: tuple[Element, ...] = ()
    errors: Errors = field(default_factory=Errors)
    asking: Asking = field(default_factory=Asking)
    ac_filter: tuple[AcFilter, ...] = ()
    integration: Integration = field(default_factory=Integration)
    format: dict[str, Format] = field(default_factory=lambda: {"ascii": Format()})
    memory: Memory | None = None
    second: Second | None = None
    panel: Panel = field(default_factory=Panel)
    remote: Remote = field(default_factory=Remote)
    line: LineTable = LineTable()

    @field_validator("function")
    @classmethod
    def _known(cls, value: dict[str, Function]) -> dict[str, Function]:
        for key in value:
            function_of(key)
        return value

    @field_validator("elements")
    @classmethod
    def _has_a_reading(cls, value: tuple[Element, ...]) -> tuple[Element, ...]:
        if value and value.count("reading") != 1:
            raise ValueError('one of the elements is the "reading"')
        return value


def function_of(key: str) -> tuple[str, Coupling]:
    """ "voltage-ac" is voltage and ac. ValueError: no function is called so."""
    name, _, coupling = key.partition("-")
    if name not in UNITS:
        raise ValueError(f"no function {name!r}; functions are {', '.join(UNITS)}")
    return name, Coupling(coupling)
