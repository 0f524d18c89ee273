"""Tracking filter: position and rate of what moves evenly but for random accelerations."""

import math
from typing import NamedTuple

from tests.trials.falling.methods.intake import Streaming
from tests.trials.falling.trial import Task


class Gains(NamedTuple):
    alpha: float
    beta: float


def gains(tracking_index: float) -> Gains:
    """Steady gains of the Kalman filter; index: acceleration noise x interval^2 / reading noise.

    Kalata, IEEE Trans. Aerospace and Electronic Systems AES-20 (1984) 174; formulas from memory.
    """
    index = tracking_index
    r = (4.0 + index - math.sqrt(8.0 * index + index * index)) / 4.0
    alpha = 1.0 - r * r
    return Gains(alpha, 2.0 * (2.0 - alpha) - 4.0 * math.sqrt(1.0 - alpha))


class AlphaBeta(Streaming):
    """`agility` is acceleration noise over reading noise, per s^2. Begins at the peak, at rest."""

    def __init__(self, task: Task, *, agility: float, margin: float = 0.0) -> None:
        super().__init__(task)
        self._agility, self._limit = agility, 1.0 - margin
        self._gone, self._rate_per_s = 0.0, 0.0
        self._at_s: float | None = None

    def passed(self, time_s: float, gone: float) -> bool:
        interval_s = 0.0 if self._at_s is None else time_s - self._at_s
        self._at_s = time_s
        self._gone += self._rate_per_s * interval_s
        off = gone - self._gone
        if interval_s:
            alpha, beta = gains(self._agility * interval_s**2)
            self._gone += alpha * off
            self._rate_per_s += beta * off / interval_s
        return self._gone >= self._limit
