"""What differs between instruments that all speak SCPI, as the files in `dialects/` say it.

Everything here is data; `meterlog_drivers.scpi.dialect_file` reads it. Texts in braces are filled in when the
command is sent: {range}, {resolution}, {header}, {hz}, {cycles}, {count}, {most}, {interval}.
"""

import re
from collections.abc import Mapping
from dataclasses import field
from typing import Annotated, Literal, Self

from pydantic import ConfigDict, Field, field_validator, model_validator
from pydantic.dataclasses import dataclass

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Line

LONGEST_COMMAND = 90
"""A serial meter's input takes about 100 characters (a maker's manual); some are for what is filled in."""

Command = Annotated[str, Field(max_length=LONGEST_COMMAND, pattern=r"^[ -~]*$")]
Positive = Annotated[float, Field(gt=0, allow_inf_nan=False)]
_STRICT = ConfigDict(extra="forbid")

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


@dataclass(frozen=True, config=_STRICT)
class Function:
    """[function.voltage-ac]: what the meter measures and, after the hyphen, its coupling.

    configure      sent first; {range} and {resolution} fall out where none is wanted
    header         what {header} stands for in other commands
    range          sent where a range is wanted and `configure` has no place for it; resolution likewise
    second         puts this function on the second display
    integration_s  what one reading takes at usual settings, with the auto zero
    """

    configure: Command
    header: str = ""
    range: Command = ""
    resolution: Command = ""
    second: Command = ""
    integration_s: Positive = 0.4

    def takes(self, what: Literal["range", "resolution"]) -> bool:
        """Whether there is a command for it."""
        return f"{{{what}}}" in self.configure or bool(getattr(self, what))


@dataclass(frozen=True, config=_STRICT)
class AcFilter:
    """[[ac_filter]]: command takes the lowest frequency that must pass; what a meter waits for each step."""

    command: Command
    steps_hz: Annotated[tuple[Positive, ...], Field(min_length=1)]
    settling_s: tuple[Positive, ...]

    @model_validator(mode="after")
    def _of_one_length(self) -> Self:
        if len(self.steps_hz) != len(self.settling_s):
            raise ValueError("settling_s has a time for each of steps_hz")
        return self

    def step_hz(self, wanted_hz: float) -> float:
        """The highest step that still lets wanted_hz through, as these meters pick it themselves."""
        return max(step for step in self.steps_hz if step <= wanted_hz)

    def settles_s(self, wanted_hz: float) -> float:
        """How long the meter waits before one reading."""
        return self.settling_s[self.steps_hz.index(self.step_hz(wanted_hz))]


@dataclass(frozen=True, config=_STRICT)
class Integration:
    """[integration]: command sets the power-line cycles of one reading; fine_s: with a resolution wanted."""

    command: Command = ""
    cycles: tuple[Positive, ...] = ()
    fine_s: Positive = 4.0


@dataclass(frozen=True, config=_STRICT)
class Format:
    """[format.real64]: how readings are sent. layout: as in `struct`, empty for text."""

    commands: tuple[Command, ...] = ()
    layout: Literal["", ">f", ">d", "<f", "<d"] = ""


@dataclass(frozen=True, config=_STRICT)
class Errors:
    """[errors]: question "" for a meter without a queue; its event register then tells.

    unknown  the numbers that say "I know no such command"
    events   asks for the event register and clears it; byte: for the status byte, "" if that tells nothing
    """

    question: Command = "SYST:ERR?"
    unknown: tuple[int, ...] = (-113, -100, -110)
    events: Command = "*ESR?"
    byte: Command = "*STB?"


@dataclass(frozen=True, config=_STRICT)
class Asking:
    """[asking]: start is sent before each question that waits for the readings."""

    question: Command = "READ?"
    start: Command = ""
    samples: Command = "SAMP:COUN {count}"


@dataclass(frozen=True, config=_STRICT)
class Overflow:
    """[memory.overflow]: the register that tells, cleared by asking, and its bit."""

    question: Command
    bit: Annotated[int, Field(ge=0, le=30)]


@dataclass(frozen=True, config=_STRICT)
class Memory:
    """[memory]: a meter that measures by itself and keeps its readings until they are fetched.

    arm       starts it; what was in the memory is gone then
    count     readings of one start where the bench file says nothing; 0: it goes on for ever
    question  fetches and removes the oldest; `most` of them
    waiting   asks how many are there, for meters that refuse to give fewer than they are asked for
    empty     what the answer is when nothing is there: a block of no bytes, or an error and silence
    timer     sets the interval from one reading to the next
    holds     how many the memory keeps before the oldest are overwritten
    """

    arm: Annotated[tuple[Command, ...], Field(min_length=1)]
    question: Command
    stop: Command = "ABOR"
    count: Annotated[int, Field(ge=0)] = 0
    most: Annotated[int, Field(ge=1, le=3000)] = 1000
    waiting: Command = ""
    empty: Literal["block", "error"] = "block"
    timer: tuple[Command, ...] = ()
    holds: Annotated[int, Field(ge=1)] = 512
    overflow: Overflow | None = None


@dataclass(frozen=True, config=_STRICT)
class Second:
    """[second]: question "" where both displays come in one answer, the main one first."""

    question: Command = ""


@dataclass(frozen=True, config=_STRICT)
class Remote:
    """[remote]: how the meter is taken from its front panel and given back.

    always    at once when connecting, else where the bench file says so or the meter refuses without it
    refusals  the error numbers of a meter that obeys nothing before
    """

    on: Command = "SYST:REM"
    off: Command = "SYST:LOC"
    always: bool = False
    refusals: tuple[int, ...] = (550,)


@dataclass(frozen=True, config=_STRICT)
class SerialLine:
    """[line]: how a serial port is opened, and what stops an answer there (device clear)."""

    baud: Annotated[int, Field(ge=50)] = 9600
    data_bits: Literal[7, 8] = 8
    parity: Literal["N", "E", "O"] = "N"
    stop_bits: Literal[1, 2] = 1
    dtr: bool | None = None
    rts: bool | None = None
    quiet_s: Annotated[float, Field(ge=0, le=30)] = 0.0
    clear: Annotated[str, Field(max_length=4)] = ""

    @property
    def line(self) -> Line:
        return Line(self.baud, self.data_bits, self.parity, self.stop_bits, self.dtr, self.rts, self.quiet_s)


@dataclass(frozen=True, config=_STRICT)
class Probe:
    """[probe]: a question that changes nothing, and the answer that proves the dialect.

    numbers  the answer is one of these; else pattern, a regular expression, is the whole answer
    """

    question: Command
    numbers: tuple[float, ...] = ()
    pattern: str = ""

    @field_validator("pattern")
    @classmethod
    def _regular(cls, value: str) -> str:
        try:
            re.compile(value)
        except re.error as error:
            raise ValueError(f"no regular expression: {error}") from error
        return value

    @model_validator(mode="after")
    def _has_an_answer(self) -> Self:
        if not self.numbers and not self.pattern:
            raise ValueError("write numbers or a pattern: any answer would prove nothing")
        return self


Element = Literal["reading", "time", "number", "channel", "limit"]


@dataclass(frozen=True, config=_STRICT)
class Dialect:
    """One file. See the classes above for its tables.

    identity      *IDN? holds one of these; empty where that tells nothing
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
    remote: Remote = field(default_factory=Remote)
    line: SerialLine = field(default_factory=SerialLine)

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
