"""Tracking filter: position and rate of what moves evenly but for random accelerations."""

import math
from typing import NamedTuple

from tests.trials.falling.methods.intake import Point, Streaming
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

    def __init__(self, task: Task, *, agility: float, margin: float = 0.0, smooth: int = 1) -> None:
        super().__init__(task, smooth)
        self._agility, self._limit = agility, 1.0 - margin
        self._at: Point | None = None
        self._rate_per_s = 0.0

    def passed(self, point: Point, now_s: float) -> bool:
        before, self._at = self._at, Point(point.time_s, 0.0)
        if before is not None:
            self._at = self._tracked(before, point)
        return self._at.gone + self._rate_per_s * (now_s - point.time_s) >= self._limit

    def _tracked(self, before: Point, point: Point) -> Point:
        interval_s = point.time_s - before.time_s
        expected = before.gone + self._rate_per_s * interval_s
        alpha, beta = gains(self._agility * interval_s**2)
        self._rate_per_s += beta * (point.gone - expected) / interval_s
        return Point(point.time_s, expected + alpha * (point.gone - expected))
