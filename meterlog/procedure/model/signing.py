"""The step in which somebody puts a name to the results."""

from typing import Literal

from meterlog.procedure.events import Pass
from meterlog.procedure.model.base import StepBase


class Sign(StepBase):
    """Ends with a name that is typed in; the last step of the last pass."""

    pattern: Literal["sign"]

    @property
    def passes(self) -> frozenset[Pass]:
        return frozenset({Pass.AS_LEFT})

    @property
    def yields(self) -> bool:
        return False
