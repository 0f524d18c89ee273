"""From a window's line to the level it tends to: how far the estimate may be off, and how sure it is."""

import math
from typing import NamedTuple

from meterlog.detect.student import students_t
from meterlog.detect.windows import Line

MOST_DEGREES = 1000.0
"""Cap on degrees of freedom, so that they stay a finite number in every export."""


STRAIGHT = 0.03


class Estimate(NamedTuple):
    """Where a level tends to, judged from one window."""

    value: float
    standard_uncertainty: float
    degrees_of_freedom: float


class Bound(NamedTuple):
    """How far the estimate from `line` may be off, at about 95 %, the worst tail included.

    drift    what remains open of the slope, base unit
    scatter  what the readings' scatter and the display's count leave open, base unit
    slope    of the line, per second, less what its own error explains
    wander_variance  as given to `Estimator.bound`
    """

    line: Line
    drift: float
    scatter: float
    slope: float
    wander_variance: float

    @property
    def total(self) -> float:
        return self.drift + self.scatter


class Estimator:
    """Judges windows for one step.

    A signal that still moves may stop at once, die away along an exponential tail, or go on as a ramp. Per
    unit of slope the level then lies so many seconds beyond the window's mean: a sixth of the window for
    the shortest tail, `tail_gain_s` for the longest expected, half the window and half the dwell for the
    ramp. The estimate is the middle of what is possible, and half the width is the open part.
    """

    def __init__(self, tail_s: float, dwell_s: float) -> None:
        self._tail_s, self._dwell_s = tail_s, dwell_s

    def bound(self, line: Line, count: float, wander_variance: float) -> Bound:
        """`count`: one count of the display, 0.0 if unknown; `wander_variance`: what windows do not show."""
        longest_s = self._longest_s(line.span_s)
        n, stt = line.n, line.stt
        widening = line.widening
        variance = line.variance * widening
        count_variance = count * count / 12.0
        slope = _shrunk(line.slope_per_s, (variance + count_variance) / stt)
        per_reading = 1.0 / n + longest_s * longest_s / stt
        t = students_t(n / widening - 2.0)
        known = count_variance * (1.0 + per_reading) + wander_variance
        scatter = math.sqrt(t * t * variance * per_reading + 4.0 * known)
        drift = abs(slope) * (longest_s - line.span_s / 6.0) / 2.0
        return Bound(line, drift, scatter, slope, wander_variance)

    def estimate(self, bound: Bound, count: float) -> Estimate:
        """The level and its standard uncertainty, never below one count / sqrt(12)."""
        line = bound.line
        middle_s = (self._longest_s(line.span_s) + line.span_s / 6.0) / 2.0
        variance = line.variance * line.widening
        # A slope that is only noise gets through `_shrunk` with about a third of its variance at most.
        random_variance = variance * (1.0 / line.n + middle_s * middle_s / (3.0 * line.stt))
        known_variance = max(0.0, count * count / 12.0 - random_variance)
        # Between uniform (1/3) and at the edge (1): short tails are met more often than long ones.
        drift_variance = 0.5 * bound.drift * bound.drift
        u = math.sqrt(random_variance + known_variance + drift_variance + bound.wander_variance)
        degrees = max(1.0, line.n / line.widening - 2.0)
        degrees = _degrees(degrees, u, math.sqrt(random_variance))
        return Estimate(line.mean + bound.slope * middle_s, u, degrees)

    def _longest_s(self, span_s: float) -> float:
        return max(tail_gain_s(span_s, self._tail_s), (span_s + self._dwell_s) / 2.0)


def is_ramp(line: Line, tolerance: float) -> bool:
    """The line goes straight on over more than two tolerances: no tail, no end in sight.

    An exponential seen for one time constant bends away from its line by 3.5 % of its travel (standard
    deviation), seen for longer by more; what bends less goes on for longer than the window.
    """
    travel = abs(line.slope_per_s) * line.span_s
    return travel > 2.0 * tolerance and line.variance < (STRAIGHT * travel) ** 2


def tail_gain_s(window_s: float, tail_s: float) -> float:
    """How much error remains per unit of slope: (window mean - final level) / (least-squares slope), in s.

    For an exponential tail of time constant `tail_s` seen through a window of length `window_s`; with
    a = window / (2 tail) it is tail a^2 / (3 (a coth a - 1)): the time constant for a short window, a
    sixth of the window for a long one. It rises with the time constant, so the slowest tail is the worst.
    """
    a = window_s / (2.0 * tail_s)
    if a < 1e-2:
        return tail_s
    return tail_s * a * a / (3.0 * (a / math.tanh(a) - 1.0))


def _shrunk(slope: float, variance: float) -> float:
    """A slope that its own error explains is no slope (a positive-part James-Stein factor)."""
    square = slope * slope
    return slope * (1.0 - 2.0 * variance / square) if square > 2.0 * variance else 0.0


def _degrees(degrees: float, u: float, random: float) -> float:
    """Welch-Satterthwaite (JCGM 100:2008 G.4.1) with one random part; everything else counts as known."""
    share = random / u if u else 0.0
    return min(MOST_DEGREES, degrees / share**4) if share > 1e-3 else MOST_DEGREES
