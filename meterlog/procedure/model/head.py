"""What a procedure is about, how its values are judged, and which channels it needs."""

from typing import Literal

from pydantic import ValidationInfo, field_validator

from meterlog.accuracy.decision import FOUR_ANSWERS, GUARD_BAND, SIMPLE, DecisionRule
from meterlog.files import BaseUnit, Distance, Level, ShownIn
from meterlog.procedure.model.base import Name, Table
from meterlog.quantity import Quantity, Span, Unit
from meterlog.reading import Coupling


class Channel(Table):
    """A channel that the bench must offer under this name, with this unit and coupling.

    source_impedance: what the point is fed from; the meter's input then loads it, which is in the budget.
    """

    name: Name
    unit: BaseUnit
    coupling: Coupling = Coupling.NONE
    show: ShownIn | None = None
    source_impedance: Level | None = None

    @field_validator("source_impedance")
    @classmethod
    def _ohms(cls, value: Quantity | None) -> Quantity | None:
        if value is None or (value.scale.unit is Unit.OHM and value.base > 0.0):
            return value
        raise ValueError(f"{value} is no impedance; write what the point is fed from, such as 600 ohm")


class Head(Table):
    """decision: how values near their limits are judged (ILAC-G8:09/2019).

    simple        by the limits alone
    guard band    inside by more than the expanded uncertainty, or as much as `false_accept` asks, to pass
    four answers  with the uncertainty on either side of a limit pass and fail are conditional
    """

    title: Name
    revision: Name
    unit: Name
    note: str = ""
    decision: Literal["simple", "guard band", "four answers"] = "simple"
    false_accept: Distance | None = None

    @field_validator("false_accept")
    @classmethod
    def _risk(cls, value: Span | None, info: ValidationInfo) -> Span | None:
        if value is None:
            return None
        if info.data.get("decision") != "guard band":
            raise ValueError('it is the risk of a guard band: write decision = "guard band", or leave it out')
        if value.kind != "%" or not 0.0 < value.amount < 50.0:
            raise ValueError("write the risk at the limit in %, above 0 and below 50, such as 2.5 %")
        return value

    @property
    def rule(self) -> DecisionRule:
        if self.false_accept is not None:
            return DecisionRule(false_accept=self.false_accept.amount / 100.0)
        return {"simple": SIMPLE, "guard band": GUARD_BAND, "four answers": FOUR_ANSWERS}[self.decision]
