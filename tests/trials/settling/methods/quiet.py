"""Steady because a test for changes has been quiet for long enough."""

from collections import deque
from typing import Protocol

from tests.trials.settling.methods.floor import Floor
from tests.trials.settling.methods.noise import Noise
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.trial import Claim

MOST_REMEMBERED = 400
"""Readings that a change may be found to lie back."""


class ChangeTest(Protocol):
    def clear(self) -> None: ...

    def step(self, x: float, interval_s: float, variance: float) -> int:
        """How many of the latest readings, x included, belong to a new level; 0 for no change.

        variance: what is known of the readings' noise.
        """
        ...


class Quiet:
    """Steady when nothing has changed for `quiet_s` and the readings of the moving window lie close.

    After a change the test starts with the readings that it says belong to the new level.
    """

    def __init__(
        self, test: ChangeTest, recent: Recent, floor: Floor, *, quiet_s: float, spread: float
    ) -> None:
        self._test, self._recent, self._floor, self._noise = test, recent, floor, Noise()
        self._quiet_s, self._spread = quiet_s * (1.0 - 1e-9), spread
        self._level: deque[tuple[float, float]] = deque(maxlen=MOST_REMEMBERED)
        self._since_s = 0.0

    def restart(self) -> None:
        self._noise.restart()
        self._forget()

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        variance = self._noise.step(value) + self._floor.variance(count)
        new = self._add(time_s, value, variance)
        if new:
            begun = list(self._level)[-new:]
            self._forget()
            for at_s, x in begun:
                self._add(at_s, x, variance)
        recent = self._recent
        quiet = time_s - self._since_s >= self._quiet_s
        return recent.claim(count) if quiet and recent.n > 2 and recent.spread <= self._spread else None

    def _add(self, time_s: float, value: float, variance: float) -> int:
        if not self._level:
            self._since_s = time_s
        interval_s = time_s - self._level[-1][0] if self._level else 0.0
        self._level.append((time_s, value))
        self._recent.add(time_s, value)
        return self._test.step(value, interval_s, variance)

    def _forget(self) -> None:
        self._test.clear()
        self._recent.clear()
        self._level.clear()
