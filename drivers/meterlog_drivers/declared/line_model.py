"""The tables of a file that describes a meter which speaks in lines of text. See docs/dialects.md."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BeforeValidator, Field, model_validator

from meterlog.files import Real, Seconds, Truth, Whole
from meterlog_drivers.declared.common_model import Description, Pause, Table
from meterlog_drivers.declared.meaning import Means, MeansOrSelected
from meterlog_drivers.declared.template import Template, parse_template


def _wire_text(value: str) -> str:
    if value.isascii():
        return value
    raise ValueError("only ASCII goes over the line; control characters are written \\u0003 and so on")


WireText = Annotated[str, Field(max_length=80), AfterValidator(_wire_text)]


class Command(Table):
    """One command. patience: how long its answer, or the prompt after it, may take."""

    send: Annotated[WireText, Field(min_length=1)]
    patience: Annotated[Pause, Field(gt=0)] | None = None
    pause: Pause = 0.0


def _command(value: object) -> object:
    return {"send": value} if isinstance(value, str) else value


def _list(value: object) -> object:
    return value if isinstance(value, list) else [value]


One = Annotated[Command, BeforeValidator(_command, json_schema_input_type=str | Command)]
Commands = Annotated[
    list[One],
    BeforeValidator(_list, json_schema_input_type=str | Command | list[str | Command]),
    Field(max_length=30),
]


class Ask(Table):
    """[ask]: for a meter that speaks when it is asked."""

    reading: One
    start: Commands = []
    stop: Commands = []
    clear: WireText = ""
    end: Literal["CR", "LF", "CR LF", "LF CR", "none"] = "CR LF"
    execute: WireText = ""
    echo: Truth = False
    patience: Annotated[Pause, Field(gt=0)] = 2.0
    gap: Pause = 0.0
    prompts: dict[WireText, Literal["ready", "not understood", "not possible"]] = {}

    @property
    def every(self) -> list[Command]:
        return [self.reading, *self.start, *self.stop]


class Identify(Table):
    """[identify]: a question whose answer says who the meter is, and that answers are in step."""

    ask: One
    answer: Annotated[WireText, Field(min_length=1)]


class Receive(Table):
    """[receive]: where a line of the meter ends. length is without the end; idle a silence."""

    end: Literal["CR", "LF", "CR LF", "LF CR", "CR or LF", "none"] = "CR or LF"
    length: Annotated[Whole, Field(ge=1, le=200)] | None = None
    idle: Annotated[Seconds, Field(ge=0.02, le=10.0)] | None = None

    @model_validator(mode="after")
    def _ends(self) -> Self:
        if self.end == "none" and (self.length is None) == (self.idle is None):
            raise ValueError("a line without an end ends by its length or by an idle time: write one of them")
        if self.end != "none" and self.idle is not None:
            raise ValueError('a line ends by its end or by an idle time; remove one, or write end = "none"')
        return self


class Answer(Table):
    """One [[answer]]: a shape of line. means: what a reading is if the line does not say."""

    line: Annotated[str, Field(min_length=1, max_length=200)]
    means: MeansOrSelected | None = None
    means2: MeansOrSelected | None = None
    between: Annotated[WireText, Field(min_length=1)] | None = None


Word = Annotated[str, Field(min_length=1, max_length=40)]
Tell = Literal[
    "ok", "overload", "underload", "blank", "invalid",
    "auto", "manual", "hold", "rel", "min", "max", "lowbatt", "mem",
]  # fmt: skip
Tells = Annotated[
    list[Tell], BeforeValidator(_list, json_schema_input_type=Tell | list[Tell]), Field(max_length=8)
]


class Number(Table):
    """[number]: what stands in the number's place without being one."""

    overload: list[Word] = []
    underload: list[Word] = []
    blank: list[Word] = []
    overload_at: list[Annotated[Real, Field(gt=0)]] = [9.9e37]
    invalid_at: list[Annotated[Real, Field(gt=0)]] = [9.91e37]
    most: Annotated[Real, Field(gt=0)] = 1e20

    @property
    def words(self) -> dict[str, str]:
        """By word the state that it tells."""
        named = {"overload": self.overload, "underload": self.underload, "blank": self.blank}
        return {word: state for state, words in named.items() for word in words}


class Tables(Description):
    """The whole file."""

    ask: Ask | None = None
    identify: Identify | None = None
    receive: Receive = Receive()
    answers: Annotated[list[Answer], Field(alias="answer", min_length=1, max_length=20)]
    select: dict[Word, Commands] = {}
    select2: dict[Word, Commands] = {}
    number: Number = Number()
    units: dict[Word, Means] = {}
    functions: dict[Word, Means] = {}
    status: dict[Word, Tells] = {}
    mark: dict[str, Tells] = {}

    def shapes(self) -> list[tuple[Answer, Template]]:
        """ValueError: see `parse_template`."""
        return [(one, parse_template(one.line, tuple(self.number.words))) for one in self.answers]
