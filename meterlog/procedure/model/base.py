"""What the steps of a procedure file are made of: the fields and the questions that many of them share."""

import unicodedata
from typing import Annotated, Literal

from pydantic import AfterValidator, Field, ValidationInfo, field_validator

from meterlog import files
from meterlog.accuracy import Waveform
from meterlog.files import Distance, Level, Seconds, Target
from meterlog.procedure.events import Pass, Role
from meterlog.quantity import Offset, Quantity, Scale, Span

Extreme = Literal["maximum", "minimum"]
Name = Annotated[str, Field(min_length=1, max_length=80)]
Identifier = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]*$", max_length=60)]

EVERY_PASS = frozenset(Pass)
LOOKING = frozenset({Pass.AS_FOUND, Pass.AS_LEFT})


def legible(text: str) -> str:
    """For a validator: ValueError for a text of blanks alone, or with what no page and no printer shows."""
    hidden = [sign for sign in text if unicodedata.category(sign) == "Cc" and sign not in "\n\t"]
    if hidden:
        raise ValueError(f"holds the control character U+{ord(hidden[0]):04X}; remove it")
    if text and not text.strip():
        raise ValueError("nothing but blanks; write a text, or leave it out")
    return text


class Table(files.Table):
    """A table of a procedure: its texts can be read, too."""

    @field_validator("*")
    @classmethod
    def _legible(cls, value: object) -> object:
        return legible(value) if isinstance(value, str) else value


class Source(Table):
    """A value that an earlier step came to; `condition` and `role` say which, where it has several."""

    step: Identifier
    condition: str = ""
    role: Role | None = None


class StepBase(Table):
    """What every step has. The properties tell plan, engine and report what kind of step it is."""

    id: Identifier
    title: Name
    setup: str = ""
    text: str = ""
    caution: str = ""

    @property
    def passes(self) -> frozenset[Pass]:
        """The passes that it is run in."""
        return EVERY_PASS

    @property
    def turns(self) -> bool:
        """Whether a hand turns something of the unit in the adjust pass."""
        return False

    @property
    def yields(self) -> bool:
        """Whether it gives values, so that a report has rows for it."""
        return True

    @property
    def channels(self) -> tuple[str, ...]:
        """Names of the channels it reads, in order."""
        name = getattr(self, "channel", None)
        return (name,) if name else ()

    @property
    def needs(self) -> tuple[str, ...]:
        """Ids of the earlier steps whose values it rests on."""
        reference = getattr(self, "reference", None)
        return (reference,) if reference else ()

    @property
    def sources(self) -> tuple[Source, ...]:
        """The values that it rests on."""
        return tuple(Source(step=name) for name in self.needs)

    @property
    def own_scale(self) -> Scale | None:
        """What its values are shown in that no channel gave; None where a channel gave them all."""
        return None


class Signal(Table):
    """What is measured, where the source that was set before does not say it.

    distortion: harmonics over the fundamental, in %; a meter that averages is less sure of such a signal
    """

    frequency: Level | None = None
    waveform: Waveform | None = None
    distortion: Distance | None = None


class Settling(Signal):
    """How long, and within what, a value must hold to be taken as settled."""

    dwell: Seconds = 1.0
    settle: Distance | None = None
    lag: Seconds = 0.0


def referred(target: Quantity | Offset | None, info: ValidationInfo) -> Quantity | Offset | None:
    """For a validator: an offset, and nothing else, goes with a `reference`, which must be a field before."""
    reference = info.data.get("reference")
    if isinstance(target, Offset) and reference is None:
        raise ValueError(f"{target} about what? Name a step as `reference`, or write dBu, dBV, V")
    if reference is not None and not isinstance(target, Offset):
        raise ValueError("with a `reference` the target is in dB about that step, such as -3 dB")
    return target


Referred = Annotated[Target, AfterValidator(referred)]


class Window(Settling):
    """A window on one channel, round a level or round so many dB about what the step `reference` came to.

    Before a step is run the engine puts a level in the place of an offset (`meterlog.procedure.known`).
    """

    channel: Name
    reference: Identifier | None = None
    target: Referred
    tolerance: Distance

    @property
    def aim(self) -> Quantity:
        """The target as a level."""
        return as_level(self.target)

    @property
    def low(self) -> float:
        return self.tolerance.low(self.aim.base)

    @property
    def high(self) -> float:
        return self.tolerance.high(self.aim.base)

    @property
    def settle_within(self) -> Span:
        """A value good to half the window is good enough to tell inside from outside."""
        return self.settle or self.tolerance.scaled(0.5)


def as_level(target: Quantity | Offset | None) -> Quantity:
    """The target of a step that is being run: never an offset any more."""
    assert isinstance(target, Quantity), "an offset is made a level before its step begins"
    return target
