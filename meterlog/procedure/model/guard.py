"""A limit that no reading of a channel may pass while steps are run."""

from typing import Self

from pydantic import model_validator

from meterlog.files import Level
from meterlog.procedure.model.base import Identifier, Name, Table


class Guard(Table):
    """Watched from the step `from_step` to the step `to_step`, both included; without them always.

    `text` says what to do when it sounds.
    """

    name: Name
    channel: Name
    never_above: Level | None = None
    never_below: Level | None = None
    from_step: Identifier | None = None
    to_step: Identifier | None = None
    text: str = ""

    @model_validator(mode="after")
    def _limits(self) -> Self:
        if self.never_above is None and self.never_below is None:
            raise ValueError('a guard needs never_above or never_below, such as never_above = "0.5 V"')
        both = self.never_above is not None and self.never_below is not None
        if both and self.never_below.base >= self.never_above.base:  # type: ignore[union-attr]
            raise ValueError("never_below must lie under never_above")
        return self

    @property
    def words(self) -> str:
        """What it watches: "Emitter resistor: output never above 50 mV"."""
        parts = (("never above", self.never_above), ("never below", self.never_below))
        limits = ", ".join(f"{word} {limit}" for word, limit in parts if limit is not None)
        return f"{self.name}: {self.channel} {limits}"
