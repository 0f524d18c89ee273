"""Seconds since the bench was switched on. Tests bring a clock of their own that jumps."""

import time
from typing import Protocol


class Clock(Protocol):
    """Never runs backwards. `speed`: how many of its seconds pass in one real second."""

    speed: float

    def now_s(self) -> float:
        """Seconds since switching on."""


class RunningClock:
    """The machine's monotonic clock, counted from when this was made, so many times as fast."""

    def __init__(self, speed: float = 1.0) -> None:
        self.speed = speed
        self._start_s = time.monotonic()

    def now_s(self) -> float:
        return (time.monotonic() - self._start_s) * self.speed
