"""The bench meter's memory of readings: measured at an even pace, kept until fetched, the oldest overwritten.

After manuals of bench meters: R? gives and removes the oldest and never waits, DATA:REM? is an error if fewer
are there, what overflowed is told by a bit of the questionable register.
"""

from collections import deque
from collections.abc import Callable, Sequence

from meterlog.simulate.clock import Clock
from meterlog.simulate.scpi_instrument import argument
from meterlog.simulate.scpi_words import Command

HOLDS = 10_000
OVERFLOW = 1 << 14
"""Bit of the questionable register in the manuals of two families."""


class ReadingMemory:
    """measure: what is shown at a moment. Nothing is measured before somebody looks, and then all at once."""

    def __init__(self, clock: Clock, measure: Callable[[float], str], holds: int = HOLDS) -> None:
        self._clock, self._measure = clock, measure
        self._kept: deque[str] = deque(maxlen=holds)
        self._period_s = 1.0
        self._started_s = 0.0
        self._left: float = 0
        self._overflowed = False

    @property
    def lasts_s(self) -> float:
        """How long until the last reading is made; infinity if it goes on for ever, 0 if it is at rest."""
        self._catch_up()
        return self._started_s + self._left * self._period_s - self._clock.now_s() if self._left else 0.0

    def start(self, period_s: float, count: float) -> None:
        """What was kept is gone."""
        self._kept.clear()
        self._period_s, self._left = period_s, count
        self._started_s = self._clock.now_s()

    def stop(self) -> None:
        """What is kept stays."""
        self._catch_up()
        self._left = 0

    def waiting(self) -> int:
        """How many readings are there."""
        self._catch_up()
        return len(self._kept)

    def all(self) -> Sequence[str]:
        """Those that are there; they stay."""
        self._catch_up()
        return list(self._kept)

    def fetch(self, most: int) -> Sequence[str]:
        """The oldest, which are removed; fewer if there are not so many."""
        self._catch_up()
        return [self._kept.popleft() for _ in range(min(most, len(self._kept)))]

    def take_overflow(self) -> int:
        """The bit, if readings were overwritten since it was asked last."""
        self._catch_up()
        flag, self._overflowed = self._overflowed, False
        return OVERFLOW if flag else 0

    def _catch_up(self) -> None:
        now_s = self._clock.now_s()
        while self._left and self._started_s + self._period_s <= now_s + 1e-9:
            self._started_s += self._period_s
            self._left -= 1
            self._overflowed = self._overflowed or len(self._kept) == self._kept.maxlen
            self._kept.append(self._measure(self._started_s))


def asked_for(command: Command) -> int:
    """How many readings R? n or DATA:REM? n is to give; without a number all there may be."""
    return int(argument(command)) if command.arguments else HOLDS


def block(readings: Sequence[str]) -> str:
    """A definite block of numbers (IEEE 488.2, 8.7.9)."""
    text = ",".join(readings)
    return f"#{len(str(len(text)))}{len(text)}{text}"
