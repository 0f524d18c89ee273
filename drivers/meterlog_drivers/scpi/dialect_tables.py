"""The tables of a dialect's file; `meterlog_drivers.scpi.dialect` holds them together.

Texts in braces are filled in when the command is sent: {range}, {resolution}, {header}, {hz}, {cycles},
{count}, {most}, {interval}.
"""

import re
from typing import Annotated, Literal, Self

from pydantic import AfterValidator, ConfigDict, Field, field_validator, model_validator
from pydantic.dataclasses import dataclass

from meterlog.files import Real, Truth, Whole

LONGEST_COMMAND = 90
"""A serial meter's input takes about 100 characters (a maker's manual); some are for what is filled in."""

PLACES = ("range", "resolution", "header", "hz", "cycles", "count", "most", "interval")


def _known_places(command: str) -> str:
    """What nobody fills in would be sent to the meter as it stands."""
    unknown = sorted(set(re.findall(r"\{(.*?)\}", command)) - set(PLACES))
    if unknown:
        places = ", ".join(f"{{{place}}}" for place in PLACES)
        raise ValueError(f"nothing is known to stand for {{{unknown[0]}}}; there are {places}")
    return command


Command = Annotated[
    str, Field(max_length=LONGEST_COMMAND, pattern=r"^[ -~]*$"), AfterValidator(_known_places)
]
Positive = Annotated[Real, Field(gt=0)]
STRICT = ConfigDict(extra="forbid")


@dataclass(frozen=True, config=STRICT)
class Function:
    """[function.voltage-ac]: what the meter measures and, after the hyphen, its coupling.

    configure      sent first; {range} and {resolution} fall out where none is wanted
    header         what {header} stands for in other commands
    range          sent where a range is wanted and `configure` has no place for it; resolution likewise
    second         puts this function on the second display
    ranges         whether {header}:RANG means this function's range
    integration_s  what one reading takes at usual settings, with the auto zero
    """

    configure: Command
    header: str = ""
    range: Command = ""
    resolution: Command = ""
    second: Command = ""
    ranges: Truth = True
    integration_s: Positive = 0.4

    def takes(self, what: Literal["range", "resolution"]) -> bool:
        """Whether there is a command for it."""
        return f"{{{what}}}" in self.configure or bool(getattr(self, what))


@dataclass(frozen=True, config=STRICT)
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


@dataclass(frozen=True, config=STRICT)
class Integration:
    """[integration]: command sets the power-line cycles of one reading; fine_s: with a resolution wanted."""

    command: Command = ""
    cycles: tuple[Positive, ...] = ()
    fine_s: Positive = 4.0


@dataclass(frozen=True, config=STRICT)
class Format:
    """[format.real64]: how readings are sent. layout: as in `struct`, empty for text."""

    commands: tuple[Command, ...] = ()
    layout: Literal["", ">f", ">d", "<f", "<d"] = ""


@dataclass(frozen=True, config=STRICT)
class Errors:
    """[errors]: question "" for a meter without a queue; its event register then tells.

    unknown  the numbers that say "I know no such command"
    events   asks for the event register and clears it; byte: for the status byte, "" if that tells nothing
    """

    question: Command = "SYST:ERR?"
    unknown: tuple[Whole, ...] = (-113, -100, -110)
    events: Command = "*ESR?"
    byte: Command = "*STB?"


@dataclass(frozen=True, config=STRICT)
class Asking:
    """[asking]: start is sent before each question that waits for the readings."""

    question: Command = "READ?"
    start: Command = ""
    samples: Command = "SAMP:COUN {count}"


@dataclass(frozen=True, config=STRICT)
class Overflow:
    """[memory.overflow]: the register that tells, cleared by asking, and its bit."""

    question: Command
    bit: Annotated[Whole, Field(ge=0, le=30)]


@dataclass(frozen=True, config=STRICT)
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
    count: Annotated[Whole, Field(ge=0)] = 0
    most: Annotated[Whole, Field(ge=1, le=3000)] = 1000
    waiting: Command = ""
    empty: Literal["block", "error"] = "block"
    timer: tuple[Command, ...] = ()
    holds: Annotated[Whole, Field(ge=1)] = 512
    overflow: Overflow | None = None


@dataclass(frozen=True, config=STRICT)
class Second:
    """[second]: question "" where both displays come in one answer, the main one first."""

    question: Command = ""


@dataclass(frozen=True, config=STRICT)
class Panel:
    """[panel]: asked after each answer, whose readings count only if nothing was changed at the front panel.

    function  what is measured; "" where nothing can be asked, and where readings carry their unit
    auto      whether the meter chooses the range by itself; range: which one, where the bench file sets it
    off       what must be off, or the numbers are not what is measured: a relative display, dB
    """

    function: Command = ""
    auto: Command = ""
    range: Command = ""
    off: tuple[Command, ...] = ()


@dataclass(frozen=True, config=STRICT)
class Remote:
    """[remote]: how the meter is taken from its front panel and given back.

    always    at once when connecting, else where the bench file says so or the meter refuses without it
    refusals  the error numbers of a meter that obeys nothing before
    """

    on: Command = "SYST:REM"
    off: Command = "SYST:LOC"
    always: Truth = False
    refusals: tuple[Whole, ...] = (550,)


@dataclass(frozen=True, config=STRICT)
class Probe:
    """[probe]: a question that changes nothing, and the answer that proves the dialect.

    numbers  the answer is one of these; else pattern, a regular expression, is the whole answer
    """

    question: Command
    numbers: tuple[Real, ...] = ()
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
