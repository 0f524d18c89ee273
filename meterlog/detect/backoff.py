"""Back-off: how far the level has gone from a known peak towards a target."""

import math

from meterlog.detect.intake import Echoes, Gate, Intake, Point
from meterlog.detect.track import Pace, Track
from meterlog.detect.verdict import Course, Fall
from meterlog.reading import State

WILD, WILD_NOISES, WILD_COUNTS = 0.6, 6.0, 2.0
"""A reading so far from where the line points waits for a second one: parts of the way, standard deviations
of the noise, counts; the largest of the three."""

AHEAD = 0.25
"""What will be passed before the next reading is announced now, but no more than so many parts of the way."""

AGREEMENT = 0.8
"""How near to the target the line without the last reading must have pointed, in parts of the way."""


class BackOff:
    """Tells when the level has gone from `peak` to `target` (below it: a fall, above it: a rise).

    reaction_s   the hand's reaction time; `slow_down` comes so much, and one interval between readings, ahead
    lag_s        time constant of the meter's averaging: a first-order filter shows what was so long ago

    Announced (PASSED) at the reading nearest to the moment, which may lie up to one interval ahead; less
    its own standard error, and nothing on one frame: the line before the last reading must have pointed
    there too, and a reading far off that line waits for a second one near it. How well that does against
    other methods: docs/detectors.md.
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
        self.reset()

    def reset(self) -> None:
        """Begin anew from the same peak towards the same target."""
        self._gate = Gate()
        self._echoes = Echoes()
        self._track = Track(self._way, self._lag_s)
        self._waiting: Point | None = None
        self._before: Pace | None = None
        self._reached_s: float | None = None
        self._overshoot = 0.0
        self._fall = Fall(course=Course.WAITING, target=self._target)

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
        if value is None or intake is Intake.IGNORED or self._echoes.again(time_s, value, resolution):
            return self._fall
        for point in self._track.bunched(time_s, self._sign * (value - self._target)):
            self._take(point, resolution)
        return self._fall

    def _take(self, point: Point, count: float) -> None:
        limit = max(WILD * self._way, WILD_NOISES * self._track.noise(count), WILD_COUNTS * count)
        off = self._off(point)
        waited, self._waiting = self._waiting, None
        if off > limit:
            if waited is None or abs(point[1] - waited[1]) > off:
                self._waiting = point
                return
            self._track.begin(waited)
            near = abs(point[1] - waited[1]) <= limit
            self._before = Pace(*waited, 0.0, self._track.noise(count)) if near else None
        self._track.add(point)
        self._follow(self._track.pace(self._track.noise(count), self._gate.period_s or 0.0))

    def _off(self, point: Point) -> float:
        """How far a reading lies from the last one or from where the line points, whichever is nearer."""
        last, before = self._track.last, self._before
        if last is None:
            return math.inf
        off = abs(point[1] - last)
        if before is None:
            return off
        shown = before.level + before.rate_per_s * (point[0] - before.at_s - self._lag_s)
        return min(off, abs(point[1] - shown))

    def _follow(self, now: Pace) -> None:
        if self._reached_s is None and self._agreed(now):
            self._reached_s = _moment_s(now, self._before)
        if self._reached_s is not None:
            self._overshoot = max(self._overshoot, -now.level)
        self._before = now
        self._fall = self._verdict(now)

    def _agreed(self, now: Pace) -> bool:
        """Past the target before the next reading, by the line as it is and by the one before."""
        before = self._before
        ahead = min(-now.rate_per_s * (self._gate.period_s or 0.0), AHEAD * self._way)
        if before is None or now.level > max(0.0, ahead) - now.error:
            return False
        return before.level + before.rate_per_s * (now.at_s - before.at_s) <= AGREEMENT * self._way

    def _verdict(self, now: Pace) -> Fall:
        ahead_s = self._reaction_s + (self._gate.period_s or 0.0)
        return Fall(
            course=Course.APPROACHING if self._reached_s is None else Course.PASSED,
            target=self._target,
            present=self._target + self._sign * now.level,
            remaining=now.level,
            reached_s=self._reached_s,
            overshoot=self._overshoot,
            rate_per_s=-now.rate_per_s,
            slow_down=0.0 < now.level <= -now.rate_per_s * ahead_s,
        )


def _moment_s(now: Pace, before: Pace | None) -> float:
    """When the target was passed, or will be: at the present rate, not before the reading before."""
    if before is None or now.rate_per_s >= 0.0:
        return now.at_s
    return max(before.at_s, now.at_s - now.level / now.rate_per_s)
