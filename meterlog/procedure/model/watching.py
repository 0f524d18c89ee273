"""The step that watches what was adjusted while nobody touches it."""

from typing import Literal, Self

from pydantic import model_validator

from meterlog.files import Distance, Seconds
from meterlog.procedure.events import Pass
from meterlog.procedure.model.base import Identifier, Name, Referred, Settling, StepBase, as_level
from meterlog.quantity import Quantity, Span


class Stability(StepBase, Settling):
    """After the unit was tapped and closed (`setup`) the level is watched for `time`: it must stay inside
    the window (`target` and `tolerance`) or `within` of its start, and drift less than `drift_per_minute`.
    """

    pattern: Literal["stability"]
    channel: Name
    time: Seconds
    drift_per_minute: Distance
    within: Distance | None = None
    reference: Identifier | None = None
    target: Referred | None = None
    tolerance: Distance | None = None

    @model_validator(mode="after")
    def _one_window(self) -> Self:
        if (self.target is None) != (self.tolerance is None):
            raise ValueError("target and tolerance belong together: give both, or `within` instead")
        if (self.target is None) == (self.within is None):
            raise ValueError(
                "give target and tolerance, or `within`, such as 0.1 dB of its start: one of them"
            )
        if self.time < 10.0:
            raise ValueError("nothing can be said of a drift in less than 10 s; write a longer time")
        return self

    @property
    def span(self) -> Span:
        """What the level may be away: from the target, or from its start."""
        span = self.tolerance or self.within
        assert span is not None, "one of them is given"
        return span

    @property
    def settle_within(self) -> Span:
        return self.settle or self.span.scaled(0.5)

    @property
    def aim(self) -> Quantity:
        """The target as a level, where there is one."""
        return as_level(self.target)

    @property
    def passes(self) -> frozenset[Pass]:
        """After what was adjusted, not after a mere look."""
        return frozenset({Pass.ADJUST})
