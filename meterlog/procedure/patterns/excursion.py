"""How far a level that should stay goes away from where it was."""

import math

from meterlog.detect import Motion, Settlement
from meterlog.procedure.patterns.window import Window
from meterlog.quantity import Span, show_deviation


class Excursion:
    """How far the level goes from its start. Of two neighbouring readings the nearer one counts, so a single
    wild one is none; two that are both outside have left, be it on either side. An overload is as far as
    can be.
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
        outside = self._outside(self._last) and self._outside(level)
        if (same_side or outside) and self._away(nearer) > self._away(self.furthest):
            self.furthest, self.furthest_after_s = nearer, at_s - self._began_s
        if self.left_after_s is None and outside:
            self.left_after_s = self._last_s - self._began_s
        self._last, self._last_s = level, at_s

    def words(self, span: Span) -> str:
        """How far it went, and how far that is beyond the limit."""
        if not math.isfinite(self.furthest):
            return "beyond the range of the meter"
        words = f"{show_deviation(span, self.furthest, self.start)} from the start"
        limit = self._window.high if self.furthest > self._window.target else self._window.low
        if self._window.contains(self.furthest) or limit is None:
            return words
        return f"{words}, {show_deviation(span, self.furthest, limit).lstrip('+-')} beyond the limit"

    def as_sure_as(self, start: Settlement, began_s: float) -> Settlement | None:
        """The furthest level as a value: two readings speak for it; the scatter of the start tells how
        sure they are. None for an overload."""
        if not math.isfinite(self.furthest):
            return None
        return start._replace(
            motion=Motion.MOVING,
            value=self.furthest,
            standard_uncertainty=max(start.spread or 0.0, start.standard_uncertainty or 0.0),
            since_s=began_s + self.furthest_after_s,
            readings=2,
        )

    def _outside(self, level: float) -> bool:
        return not (math.isfinite(level) and self._window.contains(level))

    def _away(self, level: float) -> float:
        return abs(level - self.start)
