"""How far a level moved about a press: who sweeps presses too late, by the speed times the delay."""

import math
from collections import deque

REACTION_S = 0.5
"""From a change that is seen to the foot on the pedal: recognising takes about 0.38 s, the foot the rest."""


class Track:
    """The levels of the last seconds, and after a press those from `back_s` before it until it is taken."""

    def __init__(self, back_s: float) -> None:
        self._back_s = back_s
        self.clear()

    def clear(self) -> None:
        self._points: deque[tuple[float, float]] = deque()
        self._from_s: float | None = None

    def see(self, at_s: float, level: float | None) -> None:
        """A display without a number hides what the level did."""
        if level is None:
            self._points.clear()
            return
        self._points.append((at_s, level))
        since_s = at_s - self._back_s if self._from_s is None else self._from_s
        while len(self._points) > 1 and self._points[1][0] <= since_s:
            self._points.popleft()

    def press(self, at_s: float) -> None:
        """The indicator has changed, at some time since `back_s` before now."""
        self._from_s = at_s - self._back_s

    def taken(self) -> None:
        self._from_s = None

    @property
    def way(self) -> float:
        """Between the lowest and the highest of these levels; endless where the beginning was not seen."""
        if not self._points or (self._from_s is not None and self._points[0][0] > self._from_s):
            return math.inf
        levels = [level for _, level in self._points]
        return max(levels) - min(levels)
