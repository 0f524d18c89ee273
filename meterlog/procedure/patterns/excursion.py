"""How far a level that should stay goes away from where it was."""

import math

from meterlog.procedure.patterns.window import Window


class Excursion:
    """How far the level goes from its start. Of two neighbouring readings the nearer one counts, so a single
    wild one is none. An overload is as far as can be.
    """

    def __init__(self, start: float, began_s: float, window: Window) -> None:
        self.start = self.furthest = start
        self._window = window
        self._began_s = self._last_s = began_s
        self._last = start
        self.furthest_after_s = 0.0
        self.left_after_s: float | None = None

    def see(self, at_s: float, level: float) -> None:
        nearer = min(self._last, level, key=self._away)
        same_side = (self._last - self.start) * (level - self.start) > 0.0
        if same_side and self._away(nearer) > self._away(self.furthest):
            self.furthest, self.furthest_after_s = nearer, at_s - self._began_s
        outside = not (math.isfinite(nearer) and self._window.contains(nearer))
        if same_side and self.left_after_s is None and outside:
            self.left_after_s = self._last_s - self._began_s
        self._last, self._last_s = level, at_s

    def _away(self, level: float) -> float:
        return abs(level - self.start)
