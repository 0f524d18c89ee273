"""Ways to show a base unit: prefixes for every unit, decibels for volts."""

import math
from dataclasses import dataclass
from decimal import Decimal

from meterlog.quantity.decibel import difference_db, ratio_from_db
from meterlog.quantity.errors import QuantityError
from meterlog.quantity.units import Unit


@dataclass(frozen=True, slots=True)
class Scale:
    """How numbers of one base unit are written.

    symbol  as printed and as parsed: "mV", "dBu", "kohm"
    unit    the base unit behind it
    factor  of a linear scale: base = shown * factor
    zero    of a level: the base value that reads 0 dB; None makes the scale linear
    note    the reference as words, for levels whose symbol does not fix it: "600 ohm", "0 VU = +4 dBu"

    Raises QuantityError for a factor or a zero that is not a finite number above 0.
    """

    symbol: str
    unit: Unit
    factor: float = 1.0
    zero: float | None = None
    note: str = ""

    def __post_init__(self) -> None:
        for number in (self.factor, 1.0 if self.zero is None else self.zero):
            if not (math.isfinite(number) and number > 0.0):
                raise QuantityError(f"{self.symbol} needs a reference above 0 {self.unit}, not {number:g}")

    @property
    def is_level(self) -> bool:
        """Whether the numbers are decibels."""
        return self.zero is not None

    @property
    def bracket(self) -> str:
        """The note as it follows a symbol, " (600 ohm)"; empty without one."""
        return f" ({self.note})" if self.note else ""

    def to_base(self, shown: float) -> float:
        """The base value of a number on this scale; infinite where no float is large enough."""
        if self.zero is not None:
            return self.zero * ratio_from_db(shown)
        return float(_exact(shown) * _exact(self.factor))

    def from_base(self, base: float) -> float:
        """The number on this scale for a base value; a level of nothing, or of less, is -inf."""
        if self.zero is not None:
            return difference_db(base, self.zero) if base > 0.0 else -math.inf
        return float(_exact(base) / _exact(self.factor))


def _exact(number: float) -> Decimal:
    # Decimal, because 12.3 mV must be the float nearest to 0.0123 and 12.3 * 0.001 is not.
    return Decimal(repr(number))


_PREFIXES = {"p": 1e-12, "n": 1e-9, "u": 1e-6, "m": 1e-3, "": 1.0, "k": 1e3, "M": 1e6, "G": 1e9}
_PREFIXED = (Unit.VOLT, Unit.AMPERE, Unit.OHM, Unit.HERTZ, Unit.FARAD, Unit.HENRY, Unit.WATT, Unit.SECOND)
_PLAIN = (Unit.PERCENT, Unit.CELSIUS, Unit.FAHRENHEIT, Unit.CENT, Unit.NONE)

LINEAR_SCALES: dict[str, Scale] = {unit.value: Scale(unit.value, unit) for unit in _PLAIN} | {
    prefix + unit: Scale(prefix + unit, unit, factor)
    for unit in _PREFIXED
    for prefix, factor in _PREFIXES.items()
}
"""Every linear scale by its symbol, plain ASCII."""

VOLT, MILLIVOLT, MICROVOLT = (LINEAR_SCALES[s] for s in ("V", "mV", "uV"))
AMPERE, MILLIAMPERE, MICROAMPERE = (LINEAR_SCALES[s] for s in ("A", "mA", "uA"))
OHM, KILOHM, MEGOHM = (LINEAR_SCALES[s] for s in ("ohm", "kohm", "Mohm"))
HERTZ, KILOHERTZ, MEGAHERTZ = (LINEAR_SCALES[s] for s in ("Hz", "kHz", "MHz"))
WATT, SECOND, PERCENT = (LINEAR_SCALES[s] for s in ("W", "s", "%"))
CENT = LINEAR_SCALES["cent"]

# A ratio of two values of one unit has no unit; these are ways to write it. `HUNDREDTH` is not the unit % in
# which a meter measures: a distance of 2 % on it is two hundredths, wherever the ratio lies.
GAIN = Scale("dB", Unit.NONE, zero=1.0)
HUNDREDTH, PPM, PPB = (Scale(s, Unit.NONE, f) for s, f in (("%", 1e-2), ("ppm", 1e-6), ("ppb", 1e-9)))

# The voltage that puts 1 mW into 600 ohm; ITU-R V.574 rounds it to 0.775 V, 0.0045 dB more.
DBU = Scale("dBu", Unit.VOLT, zero=math.sqrt(0.6))
DBV = Scale("dBV", Unit.VOLT, zero=1.0)


def dbm(ohms: float) -> Scale:
    """Level of the voltage across `ohms` in dB above 1 mW. QuantityError unless ohms > 0."""
    if not ohms > 0.0:
        raise QuantityError(f"dBm needs a load above 0 ohm, not {ohms:g} ohm")
    return Scale("dBm", Unit.VOLT, zero=math.sqrt(ohms / 1000.0), note=f"{ohms:.15g} ohm")


def base_scale(unit: Unit) -> Scale:
    """The scale that shows a base unit as it is kept."""
    return LINEAR_SCALES[unit.value]


def readable_scale(base: float, unit: Unit) -> Scale:
    """The prefix that leaves one to three digits before the decimal point, where the unit takes prefixes."""
    fitting = [s for s in LINEAR_SCALES.values() if s.unit is unit and s.factor <= abs(base) * (1 + 1e-12)]
    return max(fitting, key=lambda scale: scale.factor, default=base_scale(unit))
