"""The truth of a trial: which stops of the hand are plateaus, and what a claim is judged by."""

import math
from bisect import bisect_left
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from tests.trials.settling.hand import GRID_S, Stop
from tests.trials.settling.trial import Plateau

LEAST_DWELLS = 3.0
"""A level held for less, once settled, is no plateau: nobody need find it."""


class Span(NamedTuple):
    """While the response is within a tolerance of a stop's level, without a break; empty if never."""

    from_s: float
    to_s: float


@dataclass(frozen=True, slots=True)
class Response:
    """A sampled course in the base unit. `values[k]` is the level at k x `GRID_S`."""

    values: Sequence[float]

    def __call__(self, time_s: float) -> float:
        place = min(max(time_s / GRID_S, 0.0), len(self.values) - 1.000001)
        k = int(place)
        return self.values[k] + (place - k) * (self.values[k + 1] - self.values[k])


@dataclass(frozen=True, slots=True)
class Truth:
    """`course` and the levels of the stops are in tolerances."""

    stops: Sequence[Stop]
    course: Sequence[float]
    dwell_s: float

    def plateaus(self, base: float, scale: float) -> tuple[Plateau, ...]:
        """Stops held for `LEAST_DWELLS` after the response has come within the tolerance of them."""
        found = []
        for stop in self.stops:
            settled_s = max(stop.begins_s, self._span(stop).from_s)
            if stop.ends_s - settled_s >= LEAST_DWELLS * self.dwell_s:
                found.append(Plateau(stop.begins_s, settled_s, stop.ends_s, base + scale * stop.level))
        return tuple(found)

    def tends_to(self, base: float, scale: float) -> Callable[[float], float | None]:
        """Where the signal goes at a time.

        That is where it stands until the response leaves it, then the next level at which the hand rests
        for a dwell, or at which the response lingers for a dwell while the hand does not.
        """
        stops = [stop for stop in self.stops if self._counts(stop)]
        until_s = [max(stop.ends_s, self._span(stop).to_s) for stop in stops]

        def level_at(time_s: float) -> float | None:
            return base + scale * stops[min(bisect_left(until_s, time_s), len(stops) - 1)].level

        return level_at

    def _counts(self, stop: Stop) -> bool:
        if stop.rest_s >= self.dwell_s or stop.begins_s == 0.0:
            return True
        if any(abs(stop.level - rest.level) <= 2.0 for rest in self._beside(stop)):
            return False  # part of the way to or from that one
        span = self._span(stop)
        return span.to_s - span.from_s >= self.dwell_s

    def _beside(self, stop: Stop) -> list[Stop]:
        """The last rest before a stop and the first after it."""
        rests = [other for other in self.stops if other.rest_s >= self.dwell_s]
        before = [rest for rest in rests if rest.begins_s < stop.begins_s]
        after = [rest for rest in rests if rest.begins_s > stop.begins_s]
        return before[-1:] + after[:1]

    def _span(self, stop: Stop) -> Span:
        last = len(self.course) - 1
        at = min(math.floor(stop.ends_s / GRID_S), last)
        if not self._inside(at, stop.level):
            return Span(math.inf, -math.inf)
        first = end = at
        while first > 0 and self._inside(first - 1, stop.level):
            first -= 1
        while end < last and self._inside(end + 1, stop.level):
            end += 1
        return Span(first * GRID_S, end * GRID_S)

    def _inside(self, k: int, level: float) -> bool:
        return abs(self.course[k] - level) <= 1.0
