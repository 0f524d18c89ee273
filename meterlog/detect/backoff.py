"""Back-off: how far the level has gone from a known peak towards a target."""

import math
from collections import deque
from typing import NamedTuple

from meterlog.detect.intake import Gate, Guard, Intake
from meterlog.detect.verdict import Course, Fall
from meterlog.reading import State

FEWEST, MOST = 4, 16
"""Readings in the short line that is carried on to now."""

SHORT_S = 0.8
"""Length of that line, unless the meter's lag is longer or it takes longer to get the fewest readings."""

AGREEMENT = 0.05
"""How near to the target the line without the last reading must have pointed, in parts of the way."""


class _Course(NamedTuple):
    at_s: float
    remaining: float
    rate_per_s: float


class BackOff:
    """Tells when the level has gone from `peak` to `target` (below it: a fall, above it: a rise).

    reaction_s   the hand's reaction time; `slow_down` comes so much, and one interval between readings, ahead
    lag_s        time constant of the meter's averaging: a first-order filter shows what was so long ago

    A line through the last readings is carried on to now, and on by the lag: exact for a level that moves
    evenly. Nothing is decided on one frame: the line before the last reading must have pointed there too.
    Raises ValueError if peak and target are equal or no finite numbers, or a time is negative.
    """

    def __init__(self, peak: float, target: float, *, reaction_s: float = 0.3, lag_s: float = 0.0) -> None:
        if not (math.isfinite(peak) and math.isfinite(target)) or peak == target:
            raise ValueError(f"peak {peak} and target {target}: give two different levels")
        if reaction_s < 0.0 or lag_s < 0.0:
            raise ValueError(f"reaction_s is {reaction_s}, lag_s {lag_s}: give seconds, 0 or above")
        self._sign = 1.0 if target < peak else -1.0
        self._way = abs(peak - target)
        self._target = target
        self._reaction_s, self._lag_s = reaction_s, lag_s
        self._short_s = max(SHORT_S, lag_s)
        self.reset()

    def reset(self) -> None:
        """Begin anew from the same peak towards the same target."""
        self._gate = Gate()
        self._reached_s: float | None = None
        self._overshoot = 0.0
        self._fall = Fall(course=Course.WAITING, target=self._target)
        self._begin_line()

    def update(
        self,
        time_s: float,
        value: float | None,
        state: State,
        *,
        resolution: float = 0.0,
        range_max: float | None = None,
    ) -> Fall:
        """Take a reading; see `meterlog.detect.verdict`. Raises ValueError as `Settled.update` does."""
        intake = self._gate.sort(time_s, value, state, range_max)
        if intake is Intake.BROKEN or intake is Intake.FRESH:
            self._begin_line()
        if value is None or intake is Intake.IGNORED:
            return self._fall
        limit = max(self._way / 4.0, 2.0 * resolution)
        for at_s, level in self._guard.pass_on(time_s, value, limit):
            self._follow(at_s, self._sign * (level - self._target))
        return self._fall

    def _begin_line(self) -> None:
        self._guard = Guard()
        self._recent: deque[tuple[float, float]] = deque(maxlen=MOST)
        self._before: _Course | None = None

    def _follow(self, at_s: float, above: float) -> None:
        self._recent.append((at_s, above))
        while len(self._recent) > FEWEST and at_s - self._recent[0][0] > self._short_s:
            self._recent.popleft()
        course = _course(self._recent, self._lag_s)
        if self._reached_s is None and self._agreed(course):
            self._reached_s = _moment_s(course, self._before)
        if self._reached_s is not None:
            self._overshoot = max(self._overshoot, -course.remaining)
        self._before = course
        self._fall = self._verdict(course)

    def _agreed(self, now: _Course) -> bool:
        """Past the target by the line as it is, and by the one before the last reading."""
        before = self._before
        if now.remaining > 0.0 or before is None:
            return False
        pointed_at = before.remaining - before.rate_per_s * (now.at_s - before.at_s)
        return pointed_at <= AGREEMENT * self._way

    def _verdict(self, course: _Course) -> Fall:
        ahead_s = self._reaction_s + (self._gate.period_s or 0.0)
        return Fall(
            course=Course.APPROACHING if self._reached_s is None else Course.PASSED,
            target=self._target,
            present=self._target + self._sign * course.remaining,
            remaining=course.remaining,
            reached_s=self._reached_s,
            overshoot=self._overshoot,
            rate_per_s=course.rate_per_s,
            slow_down=0.0 < course.remaining <= course.rate_per_s * ahead_s,
        )


def _course(points: deque[tuple[float, float]], lag_s: float) -> _Course:
    """Least-squares line through the points, carried on to the last of them and on by the lag."""
    n, now_s = len(points), points[-1][0]
    mean_s = sum(t - now_s for t, _ in points) / n
    mean = sum(x for _, x in points) / n
    square = sum((t - now_s - mean_s) ** 2 for t, _ in points)
    rate = -sum((t - now_s - mean_s) * (x - mean) for t, x in points) / square if n > 2 else 0.0
    return _Course(now_s, mean - rate * (lag_s - mean_s), rate)


def _moment_s(now: _Course, before: _Course | None) -> float:
    """When the target was passed: on the way from the reading before, at the present rate."""
    if before is None or now.rate_per_s <= 0.0:
        return now.at_s
    return max(before.at_s, now.at_s + now.remaining / now.rate_per_s)
