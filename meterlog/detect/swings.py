"""Whether a level swings to and fro: hunting, a slow beat, hum that meets the sampling."""

import math
from collections import deque
from collections.abc import Sequence
from itertools import pairwise

from meterlog.detect.intake import Guard, Point

REVERSALS = 5
"""Turning points that make a period believable: two full swings."""

MOST_UNEVEN = 2.0
"""Largest ratio between half periods, and between swings, that still counts as one oscillation."""

LEAST_CHANGES = 2.0
"""A level has turned back when it came so many usual changes, and the least swing, off its extreme."""


class Swings:
    """Follows the turning points of a level that turns back by at least a given amount."""

    def __init__(self, guard: Guard) -> None:
        self._guard = guard
        self._turns: deque[Point] = deque(maxlen=REVERSALS)
        self.clear()

    def clear(self) -> None:
        self._turns.clear()
        self._extreme: Point | None = None
        self._rising = True
        self._period_s: float | None = None
        self._until_s = -math.inf

    def add(self, time_s: float, value: float, least_swing: float) -> None:
        if self._extreme is None:
            self._extreme = (time_s, value)
            return
        beyond = value - self._extreme[1] if self._rising else self._extreme[1] - value
        if beyond > 0.0:
            self._extreme = (time_s, value)
        elif beyond < -least_swing and beyond < -LEAST_CHANGES * self._guard.usual_change:
            self._turn(self._extreme)
            self._extreme, self._rising = (time_s, value), not self._rising

    def _turn(self, extreme: Point) -> None:
        self._turns.append(extreme)
        self._period_s = _period_s(self._turns) if len(self._turns) == REVERSALS else None
        self._until_s = extreme[0] + (self._period_s or 0.0)

    def period_s(self, now_s: float) -> float | None:
        """Period of an oscillation that is still going on, None if there is none."""
        return self._period_s if now_s < self._until_s else None


def _period_s(turns: Sequence[Point]) -> float | None:
    """Twice the mean time between turning points, None if they are not those of one oscillation."""
    halves = [b - a for (a, _), (b, _) in pairwise(turns)]
    swings = [abs(b - a) for (_, a), (_, b) in pairwise(turns)]
    even = max(halves) <= MOST_UNEVEN * min(halves) and max(swings) <= MOST_UNEVEN * min(swings)
    return 2.0 * sum(halves) / len(halves) if even else None
