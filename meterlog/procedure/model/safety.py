"""Steps that stand before and after work where stored or live voltage can hurt somebody."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, Field, field_validator, model_validator

from meterlog.files import Level, Seconds
from meterlog.procedure.events import Pass
from meterlog.procedure.model.base import Name, StepBase, legible

Caution = Annotated[str, Field(min_length=1, max_length=300), AfterValidator(legible)]


class Safety(StepBase):
    """A gate before a dangerous part: each caution of `confirm` is read and confirmed by itself, in every
    pass that has a step after it. Guards whose `from_step` is this step watch from here on.
    """

    pattern: Literal["safety"]
    confirm: Annotated[list[Caution], Field(min_length=1, max_length=20)]

    @field_validator("confirm")
    @classmethod
    def _each_once(cls, confirm: list[str]) -> list[str]:
        """Who presses twice for one caution has read one."""
        bare = [" ".join(caution.lower().split()).rstrip(".!") for caution in confirm]
        twice = next((one for one, other in zip(confirm, bare, strict=True) if bare.count(other) > 1), None)
        if twice is not None:
            raise ValueError(f"{twice!r} stands there more than once; one press confirms one caution")
        return confirm

    @property
    def yields(self) -> bool:
        return False


class PowerDown(StepBase):
    """The unit is switched off (`setup`) and its stored charge measured until it has stayed below `below`
    for `dwell`. The clock alone never ends it. At the end of the last pass.
    """

    pattern: Literal["power-down"]
    channel: Name
    below: Level
    dwell: Seconds = 5.0
    setup: Annotated[str, Field(min_length=1)]

    @model_validator(mode="after")
    def _long_and_low_enough(self) -> Self:
        if self.below.base <= 0.0:
            raise ValueError(f"`below` is a magnitude above 0, such as 10 V, not {self.below}")
        if self.dwell < 1.0:
            raise ValueError("a dwell under 1 s proves nothing of a stored charge; write 1 s or more")
        return self

    @property
    def passes(self) -> frozenset[Pass]:
        return frozenset({Pass.AS_LEFT})
