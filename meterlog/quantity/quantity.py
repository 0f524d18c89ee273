"""A number with the way it is written: kept in the base unit, shown on its scale."""

import math
from dataclasses import dataclass
from decimal import Decimal

from meterlog.quantity.errors import QuantityError
from meterlog.quantity.scales import Scale
from meterlog.quantity.units import Unit


@dataclass(frozen=True, slots=True)
class Quantity:
    """A value in the base unit of its scale.

    As text a quantity that was parsed is exact: parsing what `str` gives returns an equal one, if it had
    ten decimals at most. `show` is for measured values.
    """

    base: float
    scale: Scale

    def __str__(self) -> str:
        return f"{_shortest(self.base, self.scale)} {self.scale.symbol}".rstrip() + self.scale.bracket


@dataclass(frozen=True, slots=True)
class References:
    """What a procedure says once so that its levels need no brackets. QuantityError when used, if no voltage.

    vu       what 0 VU is
    dbfs     what 0 dBFS is
    dbm_ohm  the load that dBm is meant for, ohm
    """

    vu: Quantity | None = None
    dbfs: Quantity | None = None
    dbm_ohm: float | None = None


def vu(zero: Quantity) -> Scale:
    """Volume units, dB about the level that reads 0 VU. QuantityError unless zero is a voltage above 0."""
    return _referred("VU", zero)


def dbfs(full_scale: Quantity) -> Scale:
    """dB below digital full scale, as volts on the analogue side. QuantityError unless a voltage above 0."""
    return _referred("dBFS", full_scale)


def _referred(symbol: str, zero: Quantity) -> Scale:
    if zero.scale.unit is not Unit.VOLT:
        raise QuantityError(f"0 {symbol} must be a voltage such as +4 dBu or 1.228 V, not {zero}")
    return Scale(symbol, Unit.VOLT, zero=zero.base, note=f"0 {symbol} = {zero}")


def _shortest(base: float, scale: Scale) -> str:
    """The fewest digits that are read back as the same base value; levels carry their sign."""
    shown = scale.from_base(base) + 0.0  # -0.0 is written 0
    if not math.isfinite(shown):
        return str(shown)
    texts = (f"{shown:.{digits}g}" for digits in range(1, 18))
    # Not every base value is hit by a float in dB; then 15 digits are as near as it matters.
    text = next((t for t in texts if scale.to_base(float(t)) == base), f"{shown:.15g}")
    number = Decimal(text)
    return f"{number:+f}" if scale.is_level and number else f"{number:f}"
