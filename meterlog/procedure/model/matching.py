"""The step about two readings that shall agree."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from meterlog.files import Distance, Seconds
from meterlog.procedure.model.base import Identifier, Name, Settling, Source, StepBase, Table
from meterlog.procedure.model.derived import SourceField
from meterlog.procedure.model.ratios import span_on
from meterlog.quantity import GAIN, HUNDREDTH, Quantity, Scale, Span


class Side(Table):
    """One of the two readings; with a `setup` it is read by itself, after the pedal."""

    name: Identifier
    channel: Name
    setup: str = ""


class Match(StepBase, Settling):
    """Two sides, or one side `against` what an earlier step came to, within `tolerance` of each other.

    move  the side that is turned, the other one stays
    trim  what to turn
    """

    pattern: Literal["match"]
    side: Annotated[list[Side], Field(min_length=1, max_length=2)]
    against: SourceField | None = None
    move: Identifier
    trim: Annotated[str, Field(min_length=1)]
    tolerance: Distance
    hold: Seconds = 1.0

    @model_validator(mode="after")
    def _whole(self) -> Self:
        names = [side.name for side in self.side]
        if (len(names) == 1) == (self.against is None):
            raise ValueError("give two sides, or one side and `against`")
        if len(set(names)) != len(names):
            raise ValueError("two sides have one name")
        if self.move not in names:
            raise ValueError(f"no side {self.move!r} to move; there is {', '.join(names)}")
        if len(names) > len(self.channels) and not all(side.setup for side in self.side):
            raise ValueError("two sides on one channel need a `setup` each")
        return self

    @property
    def moving(self) -> Side:
        return next(side for side in self.side if side.name == self.move)

    @property
    def staying(self) -> Side | None:
        """None where the other reading is an earlier step's."""
        return next((side for side in self.side if side.name != self.move), None)

    @property
    def at_once(self) -> bool:
        """Whether both sides are there to be read at the same time."""
        return len(self.channels) == 2 and not any(side.setup for side in self.side)

    @property
    def settle_within(self) -> Span:
        return self.settle or self.tolerance.scaled(0.5)

    @property
    def aim(self) -> Quantity:
        """What the difference shall be: 0 on its scale."""
        return Quantity(1.0 if self.own_scale.is_level else 0.0, self.own_scale)

    @property
    def agreement(self) -> Span:
        """The tolerance as a distance about `aim`."""
        span = span_on(self.own_scale, self.tolerance)
        assert span is not None
        return span

    @property
    def own_scale(self) -> Scale:
        """What the difference is shown in."""
        if self.tolerance.kind == "dB":
            return GAIN
        return HUNDREDTH if self.tolerance.kind == "%" else self.tolerance.shown_scale

    @property
    def turns(self) -> bool:
        return True

    @property
    def channels(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(side.channel for side in self.side))

    @property
    def sources(self) -> tuple[Source, ...]:
        return (self.against,) if self.against else ()

    @property
    def needs(self) -> tuple[str, ...]:
        return tuple(source.step for source in self.sources)
