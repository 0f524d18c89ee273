"""Steps about a maximum or a minimum."""

from typing import Annotated, Literal

from pydantic import Field

from meterlog.files import Distance, Seconds
from meterlog.procedure.events import Pass
from meterlog.procedure.model.base import Extreme, Name, Settling, StepBase
from meterlog.quantity import Span


class Peaked(StepBase, Settling):
    """As found its level is recorded, not judged: without turning nobody knows where the extremum lies."""

    channel: Name
    extremum: Extreme
    bracket: Distance
    tolerance: Distance

    @property
    def settle_within(self) -> Span:
        return self.settle or self.tolerance.scaled(0.5)

    @property
    def passes(self) -> frozenset[Pass]:
        """Not as left: its own last settled value is that, other steps may have moved the level since."""
        return frozenset({Pass.AS_FOUND, Pass.ADJUST})

    @property
    def turns(self) -> bool:
        return True


class Extremum(Peaked):
    """Find the maximum or minimum from both sides, return to it, stay within `tolerance` of it."""

    pattern: Literal["extremum"]
    hold: Seconds = 1.0


class BackOff(Peaked):
    """Find the extremum, pass it on the stated side, stop `fall` beyond it, within `tolerance`."""

    pattern: Literal["back-off"]
    fall: Distance
    side: Annotated[str, Field(min_length=1)]
    hold: Seconds = 1.0
