"""Staying inside a window long enough with the tool away: the end of every step that turns something."""

from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.patterns.window import Window
from meterlog.reading import Reading


class Hold:
    """Settled inside the window for `hold_s` without a break. The window may move (a better extremum)."""

    def __init__(self, stillness: Stillness, hold_s: float) -> None:
        self.watch = Watch(stillness)
        self._hold_s = hold_s
        self._inside_since_s: float | None = None
        self._now_s = 0.0

    def restart(self) -> None:
        self.watch.restart()
        self._inside_since_s = None

    def feed(self, at_s: float, reading: Reading, window: Window) -> None:
        self.watch.feed(at_s, reading)
        self._now_s = at_s
        if not self.settled_inside(window):
            self._inside_since_s = None
        elif self._inside_since_s is None:
            self._inside_since_s = at_s

    def settled_inside(self, window: Window) -> bool:
        present = self.watch.present
        return self.watch.settled and present is not None and window.contains(present)

    def ready(self, at_s: float, window: Window) -> bool:
        """Settled inside, and readings still come: a value from before a silence is none of now."""
        return self.settled_inside(window) and self.watch.freshness.lasts(at_s)

    @property
    def kept(self) -> bool:
        return self._inside_since_s is not None and self._now_s - self._inside_since_s >= self._hold_s

    @property
    def progress(self) -> float | None:
        """0..1 of the hold, None while it does not run."""
        if self._inside_since_s is None:
            return None
        return 1.0 if self._hold_s <= 0 else min(1.0, (self._now_s - self._inside_since_s) / self._hold_s)
