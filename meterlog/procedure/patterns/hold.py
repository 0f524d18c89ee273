"""Staying inside a window long enough with the tool away: the end of every step that turns something."""

from meterlog.detect import Settlement, Tolerance
from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.patterns.window import Window
from meterlog.reading import Reading

BETTERING_S = 1.5
"""So much longer a level that could still be bettered is left to the hand; it is accepted all the same."""

CLOSING_S = 1.0
"""Before the end of a hold nobody is called to work any more: a reaction and a movement take as long."""


class Hold:
    """Settled inside the window for `hold_s` without a break. The window may move (a better extremum).

    The time counts from when the level became still: that it was, and inside, is what settled says. A
    level that has settled stands while it moves within what it had to be known to; a hand that moves it
    further than the step wants to know it begins the hold anew, and what is taken is the last dwell.
    """

    def __init__(self, stillness: Stillness, hold_s: float, tolerance: Tolerance | None = None) -> None:
        """`tolerance` as of `Watch`."""
        self.watch = Watch(stillness, tolerance)
        self._span = stillness.span
        self._hold_s = self._needed_s = hold_s
        self._inside_since_s: float | None = None
        self._began_at = 0.0
        self._now_s = 0.0

    @property
    def settlement(self) -> Settlement:
        """What may be taken: the value of the last dwell."""
        return self.watch.latest()

    def restart(self) -> None:
        self.watch.restart()
        self._inside_since_s = None

    def refused(self, *, unsure: bool) -> None:
        """What was held is not taken. One that was too unsure has to be seen anew, from other readings."""
        if unsure:
            self.restart()
        self._inside_since_s = None

    def feed(self, at_s: float, reading: Reading, window: Window) -> None:
        self.follow(at_s, reading)
        self.judge(window)

    def follow(self, at_s: float, reading: Reading) -> None:
        """Take a reading; `judge` has to come after it."""
        self.watch.feed(at_s, reading)
        self._now_s = at_s

    def judge(self, window: Window | None) -> None:
        """Whether the level stays in this window; None as long as nobody knows where it should stay."""
        level = self.settlement.value
        if window is None or level is None or not (self.watch.settled and window.contains(level)):
            self._inside_since_s = None
            return
        self._needed_s = self._hold_s + (0.0 if window.lets_go(level) else BETTERING_S)
        if self._inside_since_s is None:
            self._inside_since_s, self._began_at = self._inside_from(window), level
        elif abs(level - self._began_at) > self._span.half_width(level):
            self._inside_since_s, self._began_at = self._now_s, level

    def _inside_from(self, window: Window) -> float | None:
        """Since when it has been there: the whole of what settled if that is inside, else the last dwell."""
        whole = self.watch.settlement
        inside = whole.value is not None and window.contains(whole.value)
        return whole.since_s if inside else self.settlement.since_s

    def settled_inside(self, window: Window) -> bool:
        level = self.settlement.value
        return self.watch.settled and level is not None and window.contains(level)

    def ready(self, at_s: float, window: Window) -> bool:
        """Settled inside, and readings still come: a value from before a silence is none of now."""
        return self.settled_inside(window) and not self.watch.silent(at_s)

    @property
    def kept(self) -> bool:
        return self._inside_since_s is not None and self._now_s - self._inside_since_s >= self._needed_s

    @property
    def closing(self) -> bool:
        """The level is about to be accepted: to call a hand to work now would move what is being taken."""
        if self._inside_since_s is None:
            return False
        return self._now_s - self._inside_since_s >= self._needed_s - CLOSING_S

    @property
    def progress(self) -> float | None:
        """0..1 of the hold, None while it does not run."""
        if self._inside_since_s is None:
            return None
        held_s = self._now_s - self._inside_since_s
        return min(1.0, held_s / self._needed_s) if self._needed_s > 0.0 else 1.0
