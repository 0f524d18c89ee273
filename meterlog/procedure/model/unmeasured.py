"""Steps that take no value: getting ready and warming up."""

from typing import Literal, Self

from pydantic import model_validator

from meterlog.files import Distance, Seconds
from meterlog.procedure.events import Pass
from meterlog.procedure.model.base import Name, StepBase


class Prepare(StepBase):
    """Text, controls, connections; ends when the pedal confirms it."""

    pattern: Literal["prepare"]

    @property
    def yields(self) -> bool:
        return False


class WarmUp(StepBase):
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

    @property
    def passes(self) -> frozenset[Pass]:
        return frozenset({Pass.ADJUST})

    @property
    def yields(self) -> bool:
        return False
