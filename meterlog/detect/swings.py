"""Whether a level swings to and fro: hunting, a slow beat, hum that meets the sampling."""

from collections import deque
from itertools import pairwise

REVERSALS = 5
"""Turning points that make a period believable: two full swings."""

MOST_UNEVEN = 2.0
"""Largest ratio between half periods, and between swings, that still counts as one oscillation."""


class Swings:
    """Follows the turning points of a level that turns back by at least a given amount."""

    def __init__(self) -> None:
        self._turns: deque[tuple[float, float]] = deque(maxlen=REVERSALS)
        self._extreme: tuple[float, float] | None = None
        self._rising = True

    def clear(self) -> None:
        self._turns.clear()
        self._extreme = None

    def add(self, time_s: float, value: float, least_swing: float) -> None:
        if self._extreme is None:
            self._extreme = (time_s, value)
            return
        beyond = value - self._extreme[1] if self._rising else self._extreme[1] - value
        if beyond > 0.0:
            self._extreme = (time_s, value)
        elif beyond < -least_swing:
            self._turns.append(self._extreme)
            self._extreme, self._rising = (time_s, value), not self._rising

    def period_s(self, now_s: float) -> float | None:
        """Period of an oscillation that is still going on, None if there is none."""
        if len(self._turns) < REVERSALS:
            return None
        times = [t for t, _ in self._turns]
        levels = [x for _, x in self._turns]
        halves = [b - a for a, b in pairwise(times)]
        swings = [abs(b - a) for a, b in pairwise(levels)]
        period_s = 2.0 * sum(halves) / len(halves)
        even = max(halves) <= MOST_UNEVEN * min(halves) and max(swings) <= MOST_UNEVEN * min(swings)
        return period_s if even and now_s - times[-1] < period_s else None
