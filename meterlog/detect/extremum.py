"""The extremum of a level that a hand sweeps over, with pauses, returns and noise."""

import math
from collections import deque
from collections.abc import Iterable
from typing import Literal

from meterlog.detect.estimate import effective_degrees
from meterlog.detect.intake import Gate, Guard, Intake
from meterlog.detect.parabola import top
from meterlog.detect.verdict import Course, Peak, Tolerance
from meterlog.reading import State

NEAR = 0.25
"""In parts of the bracket: so near to the best level it is back at it, so much above it is another."""

AROUND = 5
"""Readings about the extremum that its level is taken from."""

BENDS = 15
"""Latest second differences that tell the noise of a reading."""

DEGREES_PER_BEND = 0.28
"""Degrees of freedom that each brings to their median: 4.2 for 15, as the spread of such estimates over
normal noise has it (JCGM 100:2008, G.4.2; drawn 200 000 times). Neighbours share readings."""


class Extremum:
    """Looks for the largest or smallest level since `reset`.

    kind      which of the two
    bracket   departure at a level, base unit, that proves that the extremum lies behind on that side
    lag_s     averaging time of the meter: the extremum was so much earlier than its reading

    The level must have come from at least the bracket away and gone away by the bracket again, each shown
    by two readings in a row; a lone wild reading is dropped. Going away without having come is `at_end`:
    perhaps an end stop. From levels alone nobody can tell a way back over the same flank from a way on
    over the other: whoever comes back to an end stop and leaves it again has it reported as bracketed.
    Overload, gaps and range changes do not end the search, they only show nothing.
    """

    def __init__(
        self, kind: Literal["maximum", "minimum"], bracket: Tolerance, *, lag_s: float = 0.0
    ) -> None:
        if kind not in ("maximum", "minimum"):
            raise ValueError(f"kind is {kind!r}: give 'maximum' or 'minimum'")
        self._sign = 1.0 if kind == "maximum" else -1.0
        self._bracket, self._lag_s = bracket, lag_s
        self.reset()

    def reset(self) -> None:
        """Begin the search anew."""
        self._gate = Gate()
        self._guard = Guard()
        self._recent: deque[tuple[float, float]] = deque(maxlen=AROUND)
        self._bends: deque[float] = deque(maxlen=BENDS)
        self._best = -math.inf  # highest mean of three readings
        self._around: list[tuple[float, float]] = []  # readings about it, up to AROUND
        self._low_before = self._low_since = math.inf  # lowest supported level before it and since
        self._bracketed_at: float | None = None
        self._peak = Peak(course=Course.WAITING)

    def update(
        self,
        time_s: float,
        value: float | None,
        state: State,
        *,
        resolution: float = 0.0,
        range_max: float | None = None,
    ) -> Peak:
        """Take a reading; see `meterlog.detect.verdict`. Raises ValueError as `Settled.update` does."""
        intake = self._gate.sort(time_s, value, state, range_max)
        if value is None or intake is Intake.IGNORED:
            return self._peak
        limit = max(self._bracket(value) / 2.0, 2.0 * resolution)
        for at_s, level in self._guard.pass_on(time_s, value * self._sign, limit):
            self._follow(at_s, level)
            self._peak = self._verdict(resolution)
        return self._peak

    def _follow(self, at_s: float, level: float) -> None:
        """Bring best, lows and the readings about the best up to date. Minima are followed upside down."""
        self._recent.append((at_s, level))
        self._note_bend()
        last_three = [x for _, x in self._recent][-3:]
        smooth = sum(last_three) / len(last_three)
        supported = max(last_three[-2:])
        bracket = self._bracket(self._sign * max(self._best, smooth))
        if smooth > self._best:
            self._renew_best(smooth, bracket)
            return
        if len(self._around) < AROUND:
            self._around.append((at_s, level))
        if bracket <= 0.0:  # a relative bracket of nothing proves nothing
            return
        departed = self._best - self._low_since >= bracket
        if departed and smooth >= self._best - NEAR * bracket:
            self._low_before, self._low_since = min(self._low_before, self._low_since), math.inf
        self._low_since = min(self._low_since, supported)
        rose = self._best - self._low_before >= bracket
        if rose and self._best - self._low_since >= bracket and self._bracketed_at is None:
            self._bracketed_at = self._best

    def _renew_best(self, smooth: float, bracket: float) -> None:
        if self._bracketed_at is not None and smooth > self._bracketed_at + NEAR * bracket:
            self._bracketed_at = None
        if self._best == -math.inf:
            self._low_before = smooth
        self._low_before = min(self._low_before, self._low_since)
        self._low_since = math.inf
        self._best = smooth
        self._around = list(self._recent)[-(AROUND - 1) :]

    def _note_bend(self) -> None:
        if len(self._recent) >= 3:
            self._bends.append(bend(*(x for _, x in list(self._recent)[-3:])))

    def _degrees(self) -> float:
        return max(1.0, DEGREES_PER_BEND * len(self._bends))

    def _verdict(self, count: float) -> Peak:
        noise = max(noise_of(self._bends), count / math.sqrt(12.0))
        peak = top(self._around, noise)
        random = noise * math.sqrt(peak.leverage)
        present = self._recent[-1][1]
        lag_error = abs(peak.curvature) * self._lag_s**2
        u = math.hypot(random, count / math.sqrt(12.0), lag_error)
        bracket = self._bracket(self._sign * self._best)
        fell = bracket > 0.0 and self._best - self._low_since >= bracket
        bracketed = self._bracketed_at is not None
        return Peak(
            course=Course.BRACKETED if bracketed else Course.PASSED if fell else Course.APPROACHING,
            level=self._sign * peak.level,
            standard_uncertainty=u,
            degrees_of_freedom=effective_degrees(self._degrees(), u, random),
            at_s=peak.at_s - self._lag_s,
            departure=max(0.0, peak.level - present),
            present=self._sign * present,
            at_end=fell and not bracketed,
        )


def bend(a: float, b: float, c: float) -> float:
    """Second difference of three readings in a row, without its sign."""
    return abs(a - 2.0 * b + c)


def noise_of(bends: Iterable[float]) -> float:
    """Standard deviation of a reading, from the median second difference (sqrt(6) sigma wide, normal)."""
    ordered = sorted(bends)
    return ordered[len(ordered) // 2] / (0.6745 * math.sqrt(6.0)) if ordered else 0.0
