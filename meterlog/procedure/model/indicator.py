"""The step about an indicator that comes on and goes off."""

from typing import Literal

from meterlog.procedure.model.base import Name, StepBase, Window


class Threshold(StepBase, Window):
    """The level at which an indicator comes on, rising, and goes off, falling; trim until it fits."""

    pattern: Literal["threshold"]
    indicator: Name

    @property
    def turns(self) -> bool:
        return True
