"""The procedure file as types. One class per step pattern; the file's `pattern` key chooses among them.

Every step may carry a `setup` (what to connect or switch before it; the pedal says it is done), a `text`
(what to do during it) and a `caution`. Levels are kept in base units with the scale they were written in.
"""

from typing import Annotated, Literal, Self, get_args

from pydantic import BaseModel, ConfigDict, Field, model_validator

from meterlog.files import BaseUnit, Distance, Level, Levels, Seconds, ShownIn
from meterlog.quantity import Span
from meterlog.reading import Coupling

Extreme = Literal["maximum", "minimum"]
Name = Annotated[str, Field(min_length=1, max_length=80)]
Identifier = Annotated[str, Field(pattern=r"^[a-z0-9][a-z0-9-]*$", max_length=60)]


class _Table(BaseModel):
    model_config = ConfigDict(extra="forbid", frozen=True, arbitrary_types_allowed=True)


class Channel(_Table):
    """A channel that the bench must offer under this name, with this unit and coupling."""

    name: Name
    unit: BaseUnit
    coupling: Coupling = Coupling.NONE
    show: ShownIn | None = None


class _Step(_Table):
    id: Identifier
    title: Name
    setup: str = ""
    text: str = ""
    caution: str = ""


class _Settling(_Table):
    """How long, and within what, a value must hold to be taken as settled."""

    dwell: Seconds = 1.0
    settle: Distance | None = None
    lag: Seconds = 0.0


class _Window(_Settling):
    """A window round a target."""

    channel: Name
    target: Level
    tolerance: Distance

    @property
    def low(self) -> float:
        return self.tolerance.low(self.target.base)

    @property
    def high(self) -> float:
        return self.tolerance.high(self.target.base)

    @property
    def settle_within(self) -> Span:
        """A value good to half the window is good enough to tell inside from outside."""
        return self.settle or self.tolerance.scaled(0.5)


class Prepare(_Step):
    """Text, controls, connections; ends when the pedal confirms it."""

    pattern: Literal["prepare"]


class WarmUp(_Step):
    """Ends when the time has passed and, where a channel is named, its drift is below the limit."""

    pattern: Literal["warm-up"]
    time: Seconds
    channel: Name | None = None
    drift_per_minute: Distance | None = None

    @model_validator(mode="after")
    def _drift_needs_channel(self) -> Self:
        if (self.channel is None) != (self.drift_per_minute is None):
            raise ValueError("channel and drift_per_minute belong together: give both or neither")
        return self


class SetSource(_Step, _Window):
    """Set the source, measured at the loaded input; the settled level is the step's 0 dB."""

    pattern: Literal["set-source"]
    frequency: Level | None = None
    hold: Seconds = 1.0


class Measure(_Step, _Settling):
    """Record the level as it stands; judged where a target is given."""

    pattern: Literal["measure"]
    channel: Name
    target: Level | None = None
    tolerance: Distance | None = None
    settle: Distance

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.target is None) != (self.tolerance is None):
            raise ValueError("target and tolerance belong together: give both or neither")
        return self


class Adjust(_Step, _Window):
    """Bring the level into the window; it must stay there for `hold` with the tool away."""

    pattern: Literal["adjust"]
    hold: Seconds = 1.5


class _Peaked(_Step, _Settling):
    channel: Name
    extremum: Extreme
    bracket: Distance
    tolerance: Distance

    @property
    def settle_within(self) -> Span:
        return self.settle or self.tolerance.scaled(0.5)


class Extremum(_Peaked):
    """Find the maximum or minimum from both sides, return to it, stay within `tolerance` of it."""

    pattern: Literal["extremum"]
    hold: Seconds = 1.0


class BackOff(_Peaked):
    """Find the extremum, pass it on the stated side, stop `fall` beyond it, within `tolerance`."""

    pattern: Literal["back-off"]
    fall: Distance
    side: Annotated[str, Field(min_length=1)]
    hold: Seconds = 1.0


class Threshold(_Step, _Window):
    """The level at which an indicator comes on, rising, and goes off, falling; trim until it fits."""

    pattern: Literal["threshold"]
    indicator: Name


class Condition(_Window):
    """One side of an alternate step, with its own setup and trimmer."""

    name: Identifier
    setup: Annotated[str, Field(min_length=1)]
    text: str = ""
    hold: Seconds = 1.0


class Alternate(_Step):
    """Conditions that disturb each other: round after round until all hold in one pass untouched."""

    pattern: Literal["alternate"]
    condition: Annotated[list[Condition], Field(min_length=2)]
    rounds: Annotated[int, Field(ge=2, le=100)] = 12

    @model_validator(mode="after")
    def _names_differ(self) -> Self:
        names = [condition.name for condition in self.condition]
        if len(set(names)) != len(names):
            raise ValueError("two conditions have one name")
        return self


Step = Annotated[
    Prepare | WarmUp | SetSource | Measure | Adjust | Extremum | BackOff | Threshold | Alternate,
    Field(discriminator="pattern"),
]
PATTERNS: tuple[str, ...] = tuple(
    get_args(kind.model_fields["pattern"].annotation)[0] for kind in get_args(get_args(Step)[0])
)
"""The words that a `pattern` key may hold."""


class Head(_Table):
    title: Name
    revision: Name
    unit: Name
    note: str = ""


class Procedure(_Table):
    """A whole procedure. `text` and `digest` are those of the file, set by the loader."""

    head: Head = Field(alias="procedure")
    levels: Levels = Levels()
    channels: Annotated[list[Channel], Field(alias="channel", min_length=1)]
    steps: Annotated[list[Step], Field(alias="step", min_length=1)]
    text: str = ""
    digest: str = ""

    @property
    def title(self) -> str:
        return self.head.title

    @property
    def revision(self) -> str:
        return self.head.revision

    @property
    def unit(self) -> str:
        return self.head.unit

    def step(self, identifier: str) -> Step:
        """The step with this id; KeyError if there is none."""
        return {step.id: step for step in self.steps}[identifier]

    def channel(self, name: str) -> Channel:
        """The channel with this name; KeyError if there is none."""
        return {channel.name: channel for channel in self.channels}[name]


def channels_of(step: Step) -> list[str]:
    """Names of the channels a step reads, in order."""
    if isinstance(step, Alternate):
        return [condition.channel for condition in step.condition]
    name = getattr(step, "channel", None)
    return [name] if name else []
