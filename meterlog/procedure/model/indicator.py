"""The step about an indicator that comes on and goes off."""

from typing import Literal, Self

from pydantic import model_validator

from meterlog.files import Distance, Level, Seconds
from meterlog.procedure.model.base import Name, StepBase, Window
from meterlog.quantity import Quantity


class Threshold(StepBase, Window):
    """The level at which an indicator comes on, rising, and goes off, falling; trim until it fits.

    by              what is turned until it changes: the source, or first the trimmer with the level at target
    off_target      the level at which it is to go off, within `off_tolerance`
    hysteresis      the most that may lie between on and off; neither is judged without
    delay           the indicator's own, after the level
    no_higher_than  where an indicator that is still dark is called so
    """

    pattern: Literal["threshold"]
    indicator: Name
    by: Literal["source", "trimmer"] = "source"
    off_target: Level | None = None
    off_tolerance: Distance | None = None
    hysteresis: Distance | None = None
    delay: Seconds = 0.0
    no_higher_than: Level | None = None

    @property
    def turns(self) -> bool:
        return True

    @model_validator(mode="after")
    def _off_is_judged_one_way(self) -> Self:
        if (self.off_target is None) != (self.off_tolerance is None):
            raise ValueError("off_target and off_tolerance belong together: give both or neither")
        if self.off_target is not None and self.hysteresis is not None:
            raise ValueError("give off_target and off_tolerance, or hysteresis, not both")
        return self

    @model_validator(mode="after")
    def _fits_the_target(self) -> Self:
        if not isinstance(self.target, Quantity):
            return self  # its level is only known in the session
        unit = self.target.scale.unit
        for level in (self.off_target, self.no_higher_than):
            if level is not None and level.scale.unit is not unit:
                raise ValueError(f"{level} is no level in {unit.value}, as the target is")
        for span in (self.off_tolerance, self.hysteresis):
            if span is not None and span.kind not in ("dB", "%", unit):
                raise ValueError(f"{span} does not fit a target in {unit.value}")
        if self.off_target is not None and self.off_target.base > self.target.base:
            raise ValueError(
                f"off_target {self.off_target} lies above the target {self.target}: "
                "falling, an indicator goes off at or under the level at which it comes on"
            )
        if self.no_higher_than is not None and self.no_higher_than.base <= self.high:
            raise ValueError(f"no_higher_than must lie above the window round {self.target}")
        return self
