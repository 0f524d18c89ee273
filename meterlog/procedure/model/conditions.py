"""The step about conditions that disturb each other."""

from typing import Annotated, Literal, Self

from pydantic import Field, model_validator

from meterlog.files import Seconds, Truth, Whole
from meterlog.procedure.model.base import Identifier, StepBase, Window


class Condition(Window):
    """One side of an alternate step, with its own setup and trimmer."""

    name: Identifier
    setup: Annotated[str, Field(min_length=1)]
    text: str = ""
    hold: Seconds = 1.0


class Alternate(StepBase):
    """Conditions that disturb each other: round after round until all hold in one pass untouched.

    aim_off  leave a condition beside its target where the others are known to bring it right
    mode     "difference": first the second condition by its difference from the first, then the first
    """

    pattern: Literal["alternate"]
    condition: Annotated[list[Condition], Field(min_length=2)]
    rounds: Annotated[Whole, Field(ge=2, le=100)] = 12
    aim_off: Truth = True
    mode: Literal["levels", "difference"] = "levels"

    @model_validator(mode="after")
    def _names_differ(self) -> Self:
        names = [condition.name for condition in self.condition]
        if len(set(names)) != len(names):
            raise ValueError("two conditions have one name")
        return self

    @model_validator(mode="after")
    def _differs_on_one_channel(self) -> Self:
        if self.mode == "difference" and (len(self.condition) != 2 or len(self.channels) != 1):
            raise ValueError('mode = "difference" is for two conditions on one channel')
        return self

    @property
    def turns(self) -> bool:
        return True

    @property
    def channels(self) -> tuple[str, ...]:
        return tuple(dict.fromkeys(condition.channel for condition in self.condition))

    @property
    def needs(self) -> tuple[str, ...]:
        return tuple(c.reference for c in self.condition if c.reference)
