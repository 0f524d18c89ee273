"""The step whose value a person reads and types in."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, ValidationInfo, model_validator

from meterlog.files import Distance, OwnScale, Target
from meterlog.procedure.events import Pass
from meterlog.procedure.model.base import EVERY_PASS, LOOKING, Identifier, StepBase, as_level, referred
from meterlog.procedure.model.ratios import level_on, span_on
from meterlog.quantity import Offset, Quantity, Scale, Span


def _level(target: Quantity | Offset | None, info: ValidationInfo) -> Quantity | Offset | None:
    if info.data.get("reference") is None and "show" in info.data:
        target = level_on(info.data["show"], target)
    return referred(target, info)


def _span(span: Span | None, info: ValidationInfo) -> Span | None:
    return span_on(info.data["show"], span) if "show" in info.data else span


class Manual(StepBase):
    """A pointer, a scope, beats, a counter: whoever reads it types the number in, on the scale `show`.

    uncertainty  how far off the reading can be either way: bounds, not a standard deviation
    trim         what to turn in the adjust pass until the reading is inside; without it nothing is turned
    """

    pattern: Literal["manual"]
    show: OwnScale
    uncertainty: Annotated[Distance, AfterValidator(_span)]
    reference: Identifier | None = None
    target: Annotated[Target | None, AfterValidator(_level)] = None
    tolerance: Annotated[Distance | None, AfterValidator(_span)] = None
    trim: str = ""

    @model_validator(mode="after")
    def _whole(self) -> Self:
        if (self.target is None) != (self.tolerance is None):
            raise ValueError("target and tolerance belong together: give both or neither")
        if self.trim and self.target is None:
            raise ValueError("what is trimmed needs a target and a tolerance to come to")
        return self

    @property
    def aim(self) -> Quantity:
        """The target as a level, where there is one."""
        return as_level(self.target)

    @property
    def passes(self) -> frozenset[Pass]:
        return EVERY_PASS if self.trim else LOOKING

    @property
    def turns(self) -> bool:
        return bool(self.trim)

    @property
    def own_scale(self) -> Scale:
        return self.show
