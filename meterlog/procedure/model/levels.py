"""Steps about one level: set it, measure it, adjust it."""

from typing import Literal, Self

from pydantic import field_validator, model_validator

from meterlog.files import Distance, Level, Seconds, Truth
from meterlog.procedure.events import Pass
from meterlog.procedure.model.base import (
    LOOKING,
    Identifier,
    Name,
    Referred,
    Settling,
    StepBase,
    Window,
    as_level,
)
from meterlog.quantity import Quantity, Span, Unit


class SetSource(StepBase, Window):
    """Set the source, measured at the loaded input; the settled level is the step's 0 dB.

    `level`: what the source itself is set to, which the bench does where it drives one. The target is what
    the meter shows then, maybe behind much gain: so without a `level` nothing is driven.
    """

    pattern: Literal["set-source"]
    level: Level | None = None
    hold: Seconds = 1.0

    @field_validator("level")
    @classmethod
    def _of_a_source(cls, value: Quantity | None) -> Quantity | None:
        if value is None or (value.scale.unit is Unit.VOLT and value.base > 0.0):
            return value
        raise ValueError(f"{value} is no level of a source; write one in V or dBu, such as -10 dBu")


class Measure(StepBase, Settling):
    """Record the level as it stands; judged where a target is given."""

    pattern: Literal["measure"]
    channel: Name
    reference: Identifier | None = None
    target: Referred | None = None
    tolerance: Distance | None = None

    @model_validator(mode="after")
    def _both_or_neither(self) -> Self:
        if (self.target is None) != (self.tolerance is None):
            raise ValueError("target and tolerance belong together: give both or neither")
        if self.settle is None and self.tolerance is None:
            raise ValueError("say with `settle` what counts as settled, or give target and tolerance")
        return self

    @property
    def settle_within(self) -> Span:
        span = self.settle or (self.tolerance.scaled(0.5) if self.tolerance else None)
        assert span is not None, "one of them is given"
        return span

    @property
    def aim(self) -> Quantity:
        """The target as a level, where there is one."""
        return as_level(self.target)

    @property
    def passes(self) -> frozenset[Pass]:
        return LOOKING


class Adjust(StepBase, Window):
    """Bring the level into the window; it must stay there for `hold` with the tool away.

    `only_if_needed`: in the adjust pass it is measured first, and left alone if it is inside.
    """

    pattern: Literal["adjust"]
    hold: Seconds = 1.5
    only_if_needed: Truth = False

    @property
    def turns(self) -> bool:
        return True
