"""What a procedure is about, how its values are judged, and which channels it needs."""

from typing import Annotated, Literal

from pydantic import PlainValidator, ValidationInfo, WithJsonSchema, field_validator

from meterlog.accuracy.decision import FOUR_ANSWERS, GUARD_BAND, SIMPLE, DecisionRule
from meterlog.accuracy.guard_band import ByRatio, OfRisk, TimesU, parse_guard_band
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


def _guard_band(value: object) -> object:
    if isinstance(value, str):
        return parse_guard_band(value)
    raise ValueError('write a text, for example "0.83 U"')


_GuardBand = Annotated[
    TimesU | ByRatio,
    PlainValidator(_guard_band),
    WithJsonSchema(
        {
            "type": "string",
            "description": "So many expanded uncertainties, or a published guard band by its name.",
            "pattern": rf"^\s*([+\-]?[0-9.]+\s*U|{'|'.join(ByRatio)})\s*$",
            "examples": ["0.83 U", "1.5 U", *ByRatio],
        }
    ),
]


class Head(Table):
    """decision: how values near their limits are judged (ILAC-G8:09/2019).

    simple        by the limits alone
    guard band    inside by as much as `guard_band` or `false_accept` says, to pass; else 1 U
    four answers  with the uncertainty on either side of a limit pass and fail are conditional

    guard_band    so many expanded uncertainties U, from -1 U to 3 U; or method 6 (ANSI/NCSL Z540.3), RP-10
                  (NCSLI), root-sum-square, which hang on how often U goes into half the window
    false_accept  the risk that a value as near to its limit as may pass is outside
    """

    title: Name
    revision: Name
    unit: Name
    note: str = ""
    decision: Literal["simple", "guard band", "four answers"] = "simple"
    guard_band: _GuardBand | None = None
    false_accept: Distance | None = None

    @field_validator("guard_band")
    @classmethod
    def _of_a_guard_band(
        cls, value: TimesU | ByRatio | None, info: ValidationInfo
    ) -> TimesU | ByRatio | None:
        if value is not None and info.data.get("decision") != "guard band":
            raise ValueError('it is how wide one is: write decision = "guard band", or leave it out')
        return value

    @field_validator("false_accept")
    @classmethod
    def _risk(cls, value: Span | None, info: ValidationInfo) -> Span | None:
        if value is None:
            return None
        if info.data.get("decision") != "guard band":
            raise ValueError('it is the risk of a guard band: write decision = "guard band", or leave it out')
        if info.data.get("guard_band") is not None:
            raise ValueError(
                "`guard_band` and this both say how wide the guard band is; leave one of them out"
            )
        if value.kind != "%" or not 0.0 < value.amount < 50.0:
            raise ValueError("write the risk at the limit in %, above 0 and below 50, such as 2.5 %")
        return value

    @property
    def rule(self) -> DecisionRule:
        if self.false_accept is not None:
            return DecisionRule(OfRisk(self.false_accept.amount / 100.0))
        if self.guard_band is not None:
            return DecisionRule(self.guard_band)
        return {"simple": SIMPLE, "guard band": GUARD_BAND, "four answers": FOUR_ANSWERS}[self.decision]

    @property
    def rule_name(self) -> str:
        """As short as the file says it."""
        band = self.guard_band or (OfRisk(self.false_accept.amount / 100.0) if self.false_accept else None)
        return self.decision if band is None else f"{self.decision}, {band}"
