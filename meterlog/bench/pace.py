"""How fast a link works: what a test shortens and nobody else changes."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Pace:
    """All in seconds but stale_periods, which counts the meter's own periods."""

    backoff_first_s: float = 0.2
    backoff_last_s: float = 10.0
    other_meter_s: float = 10.0
    poll_wait_s: float = 0.25
    stale_least_s: float = 2.0
    stale_periods: float = 5.0
    reopen_silent_s: float = 15.0

    def stale_after_s(self, period_s: float) -> float:
        """How long a meter of this period may give no reading before it is called stale."""
        return max(self.stale_least_s, self.stale_periods * period_s)


class Backoff:
    """The pause before the next attempt doubles until something good happens."""

    def __init__(self, first_s: float, last_s: float) -> None:
        self._first_s = first_s
        self._last_s = last_s
        self._next_s = first_s

    def next_s(self) -> float:
        now_s, self._next_s = self._next_s, min(2.0 * self._next_s, self._last_s)
        return now_s

    def reset(self) -> None:
        self._next_s = self._first_s
