"""When to check again: by the staircase rule, or from how the deviation grew between checks."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from meterlog.accuracy.drift.crossing import first_above
from meterlog.accuracy.drift.student import one_sided, two_sided
from meterlog.accuracy.drift.trend import HORIZON_DAYS


@dataclass(frozen=True, slots=True)
class Staircase:
    """Automatic adjustment after ILAC-G24 / OIML D 10, method 1: an error within `inside` of the allowed one
    makes the next interval longer, one beyond the allowed shorter, between them it stays.

    That source gives the 80 %, but no steps; `longer`, `shorter` and the bounds (a week, as for a quick
    check, and two years) are choices of ours: slowly up, quickly down. ValueError if they contradict.
    """

    inside: float = 0.8
    longer: float = 1.25
    shorter: float = 0.5
    shortest_days: float = 7.0
    longest_days: float = 730.0

    def __post_init__(self) -> None:
        steps_right = 0.0 < self.inside <= 1.0 and 0.0 < self.shorter < 1.0 < self.longer
        if not (steps_right and 0.0 < self.shortest_days <= self.longest_days):
            raise ValueError("a staircase goes up when inside, down when outside, between its bounds")

    def next_days(self, days: float, error: float, allowed: float) -> float:
        """The next interval in days after one of `days` ended with this error; `allowed` is above zero and in
        the unit of `error`, or ValueError."""
        if not allowed > 0.0:
            raise ValueError(f"an allowed error is not {allowed}")
        return min(max(days * self._step(abs(error) / allowed), self.shortest_days), self.longest_days)

    def _step(self, used: float) -> float:
        if used > 1.0:
            return self.shorter
        return self.longer if used <= self.inside else 1.0


class Growth(NamedTuple):
    """deviation = b1 t + b2 t^2, t in days since a meter was set right: NASA-HDBK-8739.19-5, variables data.

    var_b1, var_b2, covariance    of the coefficients
    s    standard deviation of the deviations about the curve
    """

    b1: float
    b2: float
    var_b1: float
    var_b2: float
    covariance: float
    s: float
    degrees_of_freedom: int

    def at(self, days: float) -> float:
        return days * (self.b1 + days * self.b2)

    def uncertainty(self, days: float, at_start: float) -> float:
        """Standard uncertainty of a single value after so many days, in the unit of the deviations;
        `at_start` is that of the value with which the interval began."""
        growing = self.var_b1 + days * (2.0 * self.covariance + days * self.var_b2)
        return math.sqrt(at_start**2 + self.s**2 + days * days * growing)


def growth(days: Sequence[float], deviations: Sequence[float]) -> Growth:
    """Least squares through the origin. `days` between being set right and checked, `deviations` found then.
    ValueError below three checks or two different intervals."""
    n = len(days)
    if n < 3 or len(set(days)) < 2 or min(days) <= 0.0:
        raise ValueError("growth needs three checks, after two different intervals longer than nothing")
    t2, t3, t4 = (math.fsum(day**power for day in days) for power in (2, 3, 4))
    ty, t2y = (math.fsum(d**p * y for d, y in zip(days, deviations, strict=True)) for p in (1, 2))
    det = t2 * t4 - t3 * t3
    b1, b2 = (t4 * ty - t3 * t2y) / det, (t2 * t2y - t3 * ty) / det
    left = math.fsum((y - d * (b1 + d * b2)) ** 2 for d, y in zip(days, deviations, strict=True))
    s2 = left / (n - 2)
    return Growth(b1, b2, s2 * t4 / det, s2 * t2 / det, -s2 * t3 / det, math.sqrt(s2), n - 2)


def days_to_uncertainty(grown: Growth, at_start: float, target: float) -> float | None:
    """Days until the standard uncertainty is beyond `target`; 0 if it is already, None within ten years."""
    return first_above(lambda days: grown.uncertainty(days, at_start) - target, 0.0, HORIZON_DAYS)


def days_to_limit(
    grown: Growth,
    start: float,
    at_start: float,
    *,
    low: float | None,
    high: float | None,
    confidence: float = 0.95,
) -> float | None:
    """Days until a value that began at `start` may have left its limits: first time that an edge of its
    interval of this confidence does. One limit alone is asked about one-sidedly.

    0 if it is there already, None within ten years or without limits; `at_start` as in `Growth.uncertainty`.
    """
    t_of = two_sided if low is not None and high is not None else one_sided
    t = t_of(grown.degrees_of_freedom, confidence)

    def excess(days: float) -> float:
        value, half_width = start + grown.at(days), t * grown.uncertainty(days, at_start)
        above = -math.inf if high is None else value + half_width - high
        below = -math.inf if low is None else low - (value - half_width)
        return max(above, below)

    return first_above(excess, 0.0, HORIZON_DAYS)
