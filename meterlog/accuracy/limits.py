"""What a maker states a meter's error stays within, and what that says of how sure a reading is.

A statement is a sum: a share of the reading, a share of the range, a number of counts, and for each kelvin
outside its temperatures a share of both more (makers' user guides print it so). The share of the reading is
taken as an error of gain, the same for every reading on a range; the rest as one of offset and linearity.
"""

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import NamedTuple

from meterlog.accuracy.band import Band


class Statement(StrEnum):
    """With what probability a maker says that the error stays within the limit."""

    BOUNDS = "bounds"
    """No probability stated: anywhere within, never beyond (JCGM 100:2008, 4.3.7)."""
    NORMAL_95 = "95 %"
    NORMAL_99 = "99 %"


_DIVISORS = {Statement.BOUNDS: math.sqrt(3.0), Statement.NORMAL_95: 1.959964, Statement.NORMAL_99: 2.575829}
"""From a limit to a standard uncertainty: JCGM 100:2008, 4.3.7 and 4.3.4 with the normal quantiles."""


class Limit(NamedTuple):
    """Half-widths in the unit of the reading. `gain` moves all readings of a range by the same share."""

    gain: float
    offset: float

    @property
    def total(self) -> float:
        """As makers add them up."""
        return self.gain + self.offset


class Conditions(NamedTuple):
    """Under which a reading was taken. None: not known, and then the statement's own are assumed."""

    frequency_hz: float | None = None
    temperature_c: float | None = None
    days_since_calibration: float | None = None
    days_since_profile: float | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Accuracy:
    """One row of a maker's table. Shares are parts of one, not per cent.

    ranges         the full scales it holds for, base unit; none means all
    band           the frequencies it holds for; None: frequency means nothing here
    days           how long after calibration it holds
    temperatures   low and high, in degrees Celsius, within which it holds as it is
    """

    reading: float = 0.0
    of_range: float = 0.0
    counts: float = 0.0
    ranges: tuple[float, ...] = ()
    band: Band | None = None
    days: float = 365.0
    temperatures: tuple[float, float] = (18.0, 28.0)
    reading_per_kelvin: float = 0.0
    of_range_per_kelvin: float = 0.0
    statement: Statement = Statement.BOUNDS

    def holds(self, full_scale: float, conditions: Conditions) -> bool:
        """Whether this row is the one for a range, a frequency and an age. What is not known holds."""
        frequency, age = conditions.frequency_hz, conditions.days_since_calibration
        return (
            (not self.ranges or any(math.isclose(full_scale, one, rel_tol=1e-9) for one in self.ranges))
            and (self.band is None or frequency is None or self.band.holds(frequency))
            and (age is None or age <= self.days)
        )

    def limit(self, value: float, full_scale: float, count: float, temperature_c: float | None) -> Limit:
        """Of the error at `value`, in the base unit. A temperature of None lies within the stated ones."""
        outside = self._kelvin_outside(temperature_c)
        return Limit(
            gain=abs(value) * (self.reading + outside * self.reading_per_kelvin),
            offset=full_scale * (self.of_range + outside * self.of_range_per_kelvin) + self.counts * count,
        )

    def standard(self, half_width: float) -> float:
        """Standard uncertainty of what lies within +- half_width by this statement."""
        return half_width / _DIVISORS[self.statement]

    def _kelvin_outside(self, temperature_c: float | None) -> float:
        low, high = self.temperatures
        return 0.0 if temperature_c is None else max(0.0, low - temperature_c, temperature_c - high)
