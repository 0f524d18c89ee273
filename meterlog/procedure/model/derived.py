"""The step whose value is computed from other values."""

from typing import Annotated, Literal, Self

from pydantic import AfterValidator, BeforeValidator, ValidationInfo, model_validator

from meterlog.files import Distance, Level, OwnScale, Target
from meterlog.procedure.events import Pass
from meterlog.procedure.model.base import LOOKING, Name, Settling, Source, StepBase, as_level
from meterlog.procedure.model.ratios import level_on, span_on
from meterlog.quantity import (
    CENT,
    GAIN,
    HUNDREDTH,
    MILLIAMPERE,
    WATT,
    Offset,
    Quantity,
    Scale,
    Span,
    Unit,
)

Kind = Literal["current", "power", "percent", "deviation", "cents", "gain", "gain-reduction", "difference"]
SHOWN: dict[str, Scale] = {
    "current": MILLIAMPERE,
    "power": WATT,
    "percent": HUNDREDTH,
    "deviation": HUNDREDTH,
    "cents": CENT,
    "gain": GAIN,
    "gain-reduction": GAIN,
}
"""What each kind is shown in unless the file says otherwise; a difference is in the unit of its inputs."""

SourceField = Annotated[Source, BeforeValidator(lambda one: {"step": one} if isinstance(one, str) else one)]


def _shown(info: ValidationInfo) -> Scale | None:
    return info.data.get("show") or SHOWN.get(info.data.get("kind", ""))


def _level(target: Quantity | Offset | None, info: ValidationInfo) -> Quantity | Offset | None:
    scale = _shown(info)
    found = level_on(scale, target) if scale else target
    if found is None or isinstance(found, Quantity):
        return found
    raise ValueError(f"{target} is no level here; write the target in the unit of the result")


def _span(span: Span | None, info: ValidationInfo) -> Span | None:
    scale = _shown(info)
    return span_on(scale, span) if scale else span


class Derived(StepBase, Settling):
    """Computed from `of` (what an earlier step came to) or from what `channel` shows now, and from one other
    value: `against` (another step), `nominal` (exact), or `resistor` with its tolerance.

    current         of / resistor                  gain            20 lg (of / against)
    power           of^2 / resistor, or of x A     gain-reduction  20 lg (against / of)
    percent         of / against                   cents           1200 lg2 (of / against), or of volts
    deviation       (of - against) / against       difference      of - against

    resistor_tolerance  bounds of the resistor about its value
    volts_per_octave    makes `cents` one of voltages: 1200 (of - against) / volts_per_octave
    """

    pattern: Literal["derived"]
    kind: Kind
    show: OwnScale | None = None
    of: SourceField | None = None
    channel: Name | None = None
    against: SourceField | None = None
    nominal: Level | None = None
    resistor: Level | None = None
    resistor_tolerance: Distance | None = None
    volts_per_octave: Level | None = None
    target: Annotated[Target | None, AfterValidator(_level)] = None
    tolerance: Annotated[Distance | None, AfterValidator(_span)] = None

    @model_validator(mode="after")
    def _whole(self) -> Self:
        for amiss in self._amiss():
            raise ValueError(amiss)
        return self

    def _amiss(self) -> list[str]:
        others = [self.against, self.nominal, self.resistor]
        electrical = self.kind in ("current", "power")
        checks = [
            ((self.of is None) == (self.channel is None), "give `of` or `channel`: one of them"),
            ((self.channel is None) != (self.settle is None), "a `channel` goes with `settle`, `of` without"),
            (sum(o is not None for o in others) != 1, "give one of `against`, `nominal`, `resistor`"),
            (
                self.nominal is not None and electrical,
                f"a {self.kind} is of a `resistor` or `against` a step",
            ),
            (self.resistor is not None and not electrical, f"a {self.kind} has no `resistor`"),
            (
                (self.resistor is None) != (self.resistor_tolerance is None),
                "a resistor goes with its resistor_tolerance, such as 1 %",
            ),
            (
                self.volts_per_octave is not None and self.kind != "cents",
                f"a {self.kind} has no volts_per_octave",
            ),
            (self.of is not None and self.of == self.against, "`of` and `against` are one and the same"),
            (self.kind not in SHOWN and self.show is None, "say with `show` what a difference is shown in"),
            (
                (self.target is None) != (self.tolerance is None),
                "target and tolerance belong together: give both or neither",
            ),
        ]
        return [words for amiss, words in checks if amiss]

    @property
    def own_scale(self) -> Scale:
        return self.show or SHOWN[self.kind]

    @property
    def unit(self) -> Unit:
        """Of the result."""
        return self.own_scale.unit

    @property
    def aim(self) -> Quantity:
        """The target as a level, where there is one."""
        return as_level(self.target)

    @property
    def sources(self) -> tuple[Source, ...]:
        return tuple(source for source in (self.of, self.against) if source is not None)

    @property
    def needs(self) -> tuple[str, ...]:
        return tuple(source.step for source in self.sources)

    @property
    def passes(self) -> frozenset[Pass]:
        return LOOKING
