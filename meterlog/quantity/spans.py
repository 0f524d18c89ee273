"""Distances: a tolerance, a fall, half the width of a window."""

import math
from dataclasses import dataclass, field
from typing import Literal

from meterlog.quantity.decibel import difference_db, ratio_from_db
from meterlog.quantity.errors import QuantityError
from meterlog.quantity.quantity import Quantity
from meterlog.quantity.scales import PERCENT, Scale, base_scale
from meterlog.quantity.units import Unit

DECIBEL = Scale("dB", Unit.NONE)
"""Differences of level. Never the scale of a quantity: a level needs a reference."""

# Far beyond every meter, and no float overflows.
MOST_DB, _MOST = 1000.0, 1e300


@dataclass(frozen=True, slots=True)
class Span:
    """A distance about a value.

    amount  dB, % of the value, or base units, >= 0
    kind    "dB", "%" (always of the value, even where the value itself is in %) or the base unit
    scale   how an absolute amount is written; no part of what makes two spans equal

    dB and % shrink with the value and are nothing at 0. QuantityError for an amount below 0
    or above 1000 dB.
    """

    amount: float
    kind: Literal["dB", "%"] | Unit
    scale: Scale | None = field(default=None, compare=False)

    def __post_init__(self) -> None:
        most = MOST_DB if self.kind == "dB" else _MOST
        if not 0.0 <= self.amount <= most:
            raise QuantityError(
                f"a distance goes from 0 to {most:g} {self.kind}, not {self.amount:g} {self.kind}"
            )

    @property
    def shown_scale(self) -> Scale:
        """The scale of the amount and of `deviation`."""
        if self.scale is not None:
            return self.scale
        if self.kind == "dB":
            return DECIBEL
        return PERCENT if self.kind == "%" else base_scale(Unit(self.kind))

    @property
    def shown_unit(self) -> str:
        """The unit of `deviation` as text: "dB", "%", "mV"."""
        return self.shown_scale.symbol

    def low(self, value: float) -> float:
        """One span below value: nearer to minus infinity, also where value is negative."""
        if self.kind == "dB":
            return value * ratio_from_db(math.copysign(self.amount, -value))
        return value - self._reach(value)

    def high(self, value: float) -> float:
        """One span above value."""
        return -self.low(-value)

    def half_width(self, value: float) -> float:
        """The smaller of the distances to `low` and to `high`, >= 0: what a detector takes as tolerance."""
        if self.kind == "dB":
            return abs(value) * (1.0 - ratio_from_db(-self.amount))  # downwards is the smaller
        return self._reach(value)

    def contains(self, value: float, target: float) -> bool:
        """Whether value lies between `low` and `high` of target; an edge is inside.

        A value beyond an edge by a billionth of the half-width, or by four times the rounding of a
        float of this size, is on the edge: 0.3 V is inside 0.2 V with 0.1 V whatever 0.2 + 0.1 is as floats.
        """
        rounding = 4.0 * math.ulp(max(abs(value), abs(target)))
        slack = max(1e-9 * self.half_width(target), rounding)
        return self.low(target) - slack <= value <= self.high(target) + slack

    def deviation(self, value: float, target: float) -> float:
        """How far value is from target in the unit the span is written in: dB, %, or its scale.

        Positive is above, with one exception: dB compare magnitudes, so -2 V is +6.02 dB against -1 V
        (and -100 %). Against the other sign dB are -inf; against 0 dB and % are infinite, 0 at 0.
        """
        if self.kind == "dB":
            opposite = min(value, target) < 0.0 < max(value, target)
            return -math.inf if opposite else difference_db(value, target)
        if self.kind == "%":
            return _percent(value, target)
        return self.shown_scale.from_base(value - target)

    def scaled(self, factor: float) -> "Span":
        """The same kind of distance, `factor` times as far. QuantityError for a factor below 0."""
        return Span(self.amount * factor, self.kind, self.scale)

    def __str__(self) -> str:
        return str(Quantity(self.amount, self.shown_scale))

    def _reach(self, value: float) -> float:
        return abs(value) * self.amount / 100.0 if self.kind == "%" else self.amount


def _percent(value: float, target: float) -> float:
    if target:
        return 100.0 * (value - target) / abs(target)
    return math.copysign(math.inf, value) if value else 0.0
