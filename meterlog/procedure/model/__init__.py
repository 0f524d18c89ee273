"""The procedure file as types. One class per step pattern; the file's `pattern` key chooses among them.

Every step may carry a `setup` (what to connect or switch before it; the pedal says it is done), a `text`
(what to do during it) and a `caution`. Levels are kept in base units with the scale they were written in.
"""

from typing import Annotated, get_args

from pydantic import Field

from meterlog.accuracy.decision import DecisionRule
from meterlog.files import Levels
from meterlog.procedure.model.base import Table
from meterlog.procedure.model.conditions import Alternate, Condition
from meterlog.procedure.model.derived import Derived
from meterlog.procedure.model.entered import Manual
from meterlog.procedure.model.guard import Guard
from meterlog.procedure.model.head import Channel, Head
from meterlog.procedure.model.indicator import Threshold
from meterlog.procedure.model.levels import Adjust, Measure, SetSource
from meterlog.procedure.model.matching import Match
from meterlog.procedure.model.peaks import BackOff, Extremum, StopBackOff
from meterlog.procedure.model.rows import Rows
from meterlog.procedure.model.safety import PowerDown, Safety
from meterlog.procedure.model.signing import Sign
from meterlog.procedure.model.unmeasured import Prepare, WarmUp
from meterlog.procedure.model.watching import Stability

__all__ = [
    "PATTERNS",
    "Adjust",
    "Alternate",
    "BackOff",
    "Channel",
    "Condition",
    "Derived",
    "Extremum",
    "Guard",
    "Head",
    "Manual",
    "Match",
    "Measure",
    "PowerDown",
    "Prepare",
    "Procedure",
    "Rows",
    "Safety",
    "SetSource",
    "Sign",
    "Stability",
    "Step",
    "StopBackOff",
    "Threshold",
    "WarmUp",
]

Step = Annotated[
    Prepare
    | WarmUp
    | SetSource
    | Measure
    | Adjust
    | Extremum
    | BackOff
    | StopBackOff
    | Threshold
    | Alternate
    | Manual
    | Derived
    | Match
    | Safety
    | Stability
    | PowerDown
    | Rows
    | Sign,
    Field(discriminator="pattern"),
]
PATTERNS: tuple[str, ...] = tuple(
    get_args(kind.model_fields["pattern"].annotation)[0] for kind in get_args(get_args(Step)[0])
)
"""The words that a `pattern` key may hold."""


class Procedure(Table):
    """A whole procedure, its loops written out. `text` and `digest` are those of the file."""

    head: Head = Field(alias="procedure")
    levels: Levels = Levels()
    channels: Annotated[list[Channel], Field(alias="channel", min_length=1)]
    guards: Annotated[tuple[Guard, ...], Field(alias="guard")] = ()
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

    @property
    def rule(self) -> DecisionRule:
        return self.head.rule

    def source_ohm(self, channel: str) -> float:
        """What feeds the point of a channel; 0.0 where the file does not say, and for no channel."""
        found = next((one.source_impedance for one in self.channels if one.name == channel), None)
        return found.base if found else 0.0

    def step(self, identifier: str) -> Step:
        """The step with this id; KeyError if there is none."""
        return {step.id: step for step in self.steps}[identifier]

    def channel(self, name: str) -> Channel:
        """The channel with this name; KeyError if there is none."""
        return {channel.name: channel for channel in self.channels}[name]
