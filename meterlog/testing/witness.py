"""Hears a link on the real clock; other threads may wait for what it says."""

import threading
from collections.abc import Callable

from meterlog.bench import LinkState, LinkStatus, Pace
from meterlog.reading import Reading

PATIENCE_S = 60.0
"""For a busy machine; what is waited for takes seconds at most."""
HURRIED = Pace(
    backoff_first_s=0.02,
    backoff_last_s=0.1,
    other_meter_s=0.1,
    poll_wait_s=0.05,
    stale_least_s=0.3,
    stale_periods=3.0,
    reopen_silent_s=5.0,
)
"""A link that tries again sooner than at work."""


class Witness:
    """Hears a link; other threads may wait for something it said."""

    def __init__(self, patience_s: float = PATIENCE_S) -> None:
        self._patience_s = patience_s
        self.readings: list[Reading] = []
        self.statuses: list[LinkStatus] = []
        self._news = threading.Condition()

    def deliver(self, reading: Reading) -> None:
        with self._news:
            self.readings.append(reading)
            self._news.notify_all()

    def on_state(self, status: LinkStatus) -> None:
        with self._news:
            self.statuses.append(status)
            self._news.notify_all()

    @property
    def states(self) -> list[LinkState]:
        """Each change of state, once."""
        said = [status.state for status in self.statuses]
        return [state for index, state in enumerate(said) if index == 0 or said[index - 1] is not state]

    def wait_for(self, what: Callable[[], bool]) -> None:
        with self._news:
            came = self._news.wait_for(what, self._patience_s)
            assert came, (
                f"in vain for {self._patience_s:g} s; the last: {self.statuses[-3:]}, {self.readings[-3:]}"
            )

    def wait_for_state(self, state: LinkState, since: int = 0) -> LinkStatus:
        """The first status in this state after the first `since` statuses."""
        self.wait_for(lambda: any(one.state is state for one in self.statuses[since:]))
        return next(one for one in self.statuses[since:] if one.state is state)

    def wait_for_identity(self) -> None:
        self.wait_for(lambda: any(one.identity for one in self.statuses))

    def wait_for_readings(self, count: int) -> None:
        """That many new ones."""
        wanted = len(self.readings) + count
        self.wait_for(lambda: len(self.readings) >= wanted)
