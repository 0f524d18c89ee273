"""From a window's line to the level it tends to: how far the estimate may be off, and how sure it is."""

import math
from typing import NamedTuple

from meterlog.detect.student import students_t
from meterlog.detect.sums import Line

MOST_DEGREES = 1000.0
"""Cap on degrees of freedom, so that they stay a finite number in every export."""

CREEP = 0.8
"""On what may hide of a creep, so that U holds 95 % over all signals, of levels alone and of what
is computed from two alike; found on seeds that it is not judged on (docs/uncertainty.md)."""


class Usual(NamedTuple):
    """Variance of single readings about a still level, and how many degrees of freedom stand behind it."""

    variance: float
    degrees: float


NOT_KNOWN = Usual(0.0, 0.0)


class Estimate(NamedTuple):
    """Where a level tends to, judged from one window."""

    value: float
    standard_uncertainty: float
    degrees_of_freedom: float


class Bound(NamedTuple):
    """How far the estimate from `line` may be off, at about 95 %, the worst tail included.

    drift    what remains open of the slope, base unit
    scatter  what the readings' scatter and the display's count leave open, base unit
    total    of both; drift counts twice: who looks at every reading sees a slope when it seems flattest
    slope    of the line, per second, less what its own error explains
    wander_variance  as given to `Estimator.bound`
    variance, degrees  of a reading, widened for correlation, with what was known before
    hidden_variance    of a reading, by what the display's count hides
    longest_s  how far beyond the window's mean the level may lie, per unit of slope
    stayed     judged by having stayed near for the horizon, see `Estimator.steady`
    """

    line: Line
    drift: float
    scatter: float
    total: float
    slope: float
    wander_variance: float
    variance: float
    degrees: float
    hidden_variance: float
    longest_s: float
    stayed: bool = False


class Estimator:
    """Judges windows for one step.

    A signal that still moves may stop at once, die away along an exponential tail, or go on as a ramp. Per
    unit of slope the level then lies so many seconds beyond the window's mean: a sixth of the window for
    the shortest tail, `tail_gain_s` for the longest expected, half the window and half the dwell for the
    ramp. The estimate is the middle of what is possible, and half the width is the open part.
    """

    def __init__(self, tail_s: float, dwell_s: float) -> None:
        self._tail_s, self._dwell_s = tail_s, dwell_s

    def bound(self, line: Line, count: float, wander_variance: float, usual: Usual = NOT_KNOWN) -> Bound:
        """`count`: one count of the display, 0.0 if unknown; `wander_variance`: what windows do not show;
        `usual`: what is known of the readings' scatter from before.
        """
        longest_s = self._longest_s(line.span_s)
        n, stt, r = line.n, line.stt, line.correlation
        widening = (1.0 + r) / (1.0 - r)
        own = max(1.0, n / widening - 2.0)
        degrees = own + usual.degrees
        variance = widening * (own * line.variance + usual.degrees * usual.variance) / degrees
        hidden = _undithered(line.variance, count)
        slope = _shrunk(line.slope_per_s, (variance + hidden) / stt)
        per_reading = 1.0 / n + longest_s * longest_s / stt
        t = students_t(degrees)
        known = hidden * (1.0 + per_reading) + wander_variance
        scatter = math.sqrt(t * t * variance * per_reading + 4.0 * known)
        drift = abs(slope) * (longest_s - line.span_s / 6.0) / 2.0
        total = 2.0 * drift + scatter
        return Bound(
            line, drift, scatter, total, slope, wander_variance, variance, degrees, hidden, longest_s
        )

    def steady(self, line: Line, count: float, wander_variance: float) -> Bound:
        """For a window as long as the horizon: what moves by itself is over, what is left goes to and fro.

        The correlated part of the scatter is wander that goes on as it did (a sine stays within sqrt(2) of
        its deviation, normal wander within 2 in 95 %), the rest averages out; the slope is what is left of
        either.
        """
        n, r = line.n, line.correlation
        travel = abs(line.slope_per_s) * line.span_s
        wander = line.variance * r
        hidden = _undithered(line.variance, count)
        white = line.variance * (1.0 - r)
        t = students_t(n - 2.0)
        scatter = math.sqrt(4.0 * (wander + hidden) + t * t * white / n) + travel / 2.0
        unseen = wander + travel * travel / 12.0 + wander_variance
        degrees = max(1.0, n / line.widening - 2.0)
        return Bound(line, 0.0, scatter, scatter, 0.0, unseen, white, degrees, 0.0, 0.0, stayed=True)

    def estimate(self, bound: Bound, count: float) -> Estimate:
        """The level and its standard uncertainty, never below one count / sqrt(12)."""
        line, variance, longest_s = bound.line, bound.variance, bound.longest_s
        middle_s = (longest_s + line.span_s / 6.0) / 2.0
        mean_variance = variance / line.n
        # A slope that is only noise gets through `_shrunk` with about a third of its variance at most. What
        # it hides of a slow tail is met about half the time; a count hides as much as noise does.
        per_slope = CREEP * (middle_s * middle_s / 3.0 + longest_s * longest_s / 2.0)
        random_variance = mean_variance + variance * per_slope / line.stt
        count_variance = max(0.0, count * count / 12.0 - random_variance)
        hidden_variance = bound.hidden_variance * per_slope / line.stt
        # Between uniform (1/3) and at the edge (1): short tails are met more often than long ones.
        drift_variance = 0.5 * bound.drift * bound.drift
        u = math.sqrt(
            random_variance + count_variance + hidden_variance + drift_variance + bound.wander_variance
        )
        degrees = effective_degrees(bound.degrees, u, math.sqrt(mean_variance))
        return Estimate(line.mean + bound.slope * middle_s, u, degrees)

    def _longest_s(self, span_s: float) -> float:
        return max(tail_gain_s(span_s, self._tail_s), (span_s + self._dwell_s) / 2.0)


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


def _undithered(variance: float, count: float) -> float:
    """What the display's count hides from the readings' scatter, base unit squared.

    A display that stands still may be off by half a count. One that flickers by itself averages that out:
    with normal noise of 0.3 counts the mean is right to 0.05 counts, exp(-2 (pi sigma)^2) / pi, and the
    scatter is twice count^2 / 12 (Widrow and Kollar, Quantization Noise, 2008; from memory).
    """
    step = count * count / 12.0
    if variance >= 2.0 * step:
        return 0.0
    return step if variance <= step else 2.0 * step - variance


def _shrunk(slope: float, variance: float) -> float:
    """A slope that its own error explains is no slope (a positive-part James-Stein factor)."""
    square = slope * slope
    return slope * (1.0 - 2.0 * variance / square) if square > 2.0 * variance else 0.0


def effective_degrees(degrees: float, u: float, random: float) -> float:
    """Welch-Satterthwaite (JCGM 100:2008 G.4.1) with one random part; everything else counts as known."""
    share = random / u if u else 0.0
    return min(MOST_DEGREES, degrees / share**4) if share > 1e-3 else MOST_DEGREES
