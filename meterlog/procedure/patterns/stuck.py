"""Whether a level has ceased to follow the hand: a trimmer at its end, a probe that hangs, a dead part."""

import math

STUCK_S, UNTOUCHED_S = 8.0, 20.0
"""A hand that works pauses for less than the first; until it has begun, the second counts."""

UNSEEN_S = 3.0
"""A longer pause between readings is time in which the level may have moved."""


class Stuck:
    """Follows a level; it is stuck when it has stayed within a step's accuracy for long."""

    def __init__(self) -> None:
        self._since_s: float | None = None
        self._last_s = -math.inf
        self._level = 0.0
        self._moved = False
        self.for_s = 0.0

    def feed(self, at_s: float, level: float | None, half_width: float) -> None:
        """`half_width`: a movement larger than this is one, base unit."""
        unseen = at_s - self._last_s > UNSEEN_S
        self._last_s = at_s
        if unseen:
            self._since_s = None
        if level is None:
            self._since_s, self.for_s = None, 0.0
        elif self._since_s is None or abs(level - self._level) > half_width:
            self._moved = self._moved or self._since_s is not None
            self._since_s, self._level, self.for_s = at_s, level, 0.0
        else:
            self.for_s = at_s - self._since_s

    def __bool__(self) -> bool:
        return self.for_s >= (STUCK_S if self._moved else UNTOUCHED_S)
