"""Exponential tail through the means of three equal groups of readings, extrapolated to its end.

G. R. de Prony, Journal de l'Ecole Polytechnique 1(22) 1795, for a single exponential: equidistant values
less the end value form a geometric progression.
"""

import math
from collections import deque
from typing import NamedTuple

from tests.trials.settling.methods.candidate import (
    IGNORE,
    PATIENCE,
    SPIKE,
    SPREAD,
    Candidate,
    dwell_of,
    patient,
)
from tests.trials.settling.methods.floor import Floor
from tests.trials.settling.methods.noise import Noise
from tests.trials.settling.methods.recent import ROUNDING, Recent
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Claim, Method, Task

LEAST_READINGS = 6


class Tail(NamedTuple):
    """x = end + c q^(time / spacing).

    ratio      q, from one group to the next
    weight     by how much larger the end's standard deviation is than that of one group's mean
    """

    end: float
    ratio: float
    weight: float

    def time_constant_s(self, spacing_s: float) -> float:
        return -spacing_s / math.log(self.ratio)


def tail_through(first: float, second: float, third: float) -> Tail | None:
    """Through the means of three equal groups of equidistant readings; None if they do not tend anywhere."""
    before, after = second - first, third - second
    if before == 0.0 or not 0.0 < after / before < 1.0:
        return None
    q = after / before
    w = q / (1.0 - q)
    weight = math.hypot((1.0 + w) ** 2, 2.0 * w * (1.0 + w), w * w)  # derivatives of the end
    return Tail(third + w * after, q, weight)


class TailTest:
    """Steady when at most `remaining` is left of the tail and z deviations of its end are in `limit`.

    Also steady when the first and the last group differ by no more than the limit, z deviations included.
    The readings of the last dwell, in `recent`, may not spread by more than `spread`.
    """

    def __init__(
        self,
        window_s: float,
        recent: Recent,
        floor: Floor,
        *,
        z: float,
        remaining: float,
        limit: float,
        spread: float,
    ) -> None:
        self._points: deque[tuple[float, float]] = deque()
        self._window_s, self._noise, self._floor = window_s * (1.0 - ROUNDING), Noise(), floor
        self._z, self._remaining, self._limit = z, remaining, limit
        self._recent, self._spread = recent, spread

    def restart(self) -> None:
        self._points.clear()
        self._recent.clear()
        self._noise.restart()

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        points = self._points
        points.append((time_s, value))
        self._recent.add(time_s, value)
        variance = self._noise.step(value) + self._floor.variance(count)
        while len(points) > 1 and time_s - points[1][0] >= self._window_s:
            points.popleft()
        full = time_s - points[0][0] >= self._window_s and len(points) >= LEAST_READINGS
        if not full or self._recent.spread > self._spread:
            return None
        each = len(points) // 3
        xs = [x for _, x in points][-3 * each :]
        means = [sum(xs[i : i + each]) / each for i in range(0, 3 * each, each)]
        return self._judged(means, math.sqrt(variance / each), count)

    def _judged(self, means: list[float], deviation: float, count: float) -> Claim | None:
        first, second, third = means
        if abs(third - first) + self._z * math.sqrt(2.0) * deviation <= self._limit:
            return self._claimed((first + second + third) / 3.0, deviation / math.sqrt(3.0), count)
        tail = tail_through(first, second, third)
        if tail is None or abs(third - tail.end) * math.sqrt(tail.ratio) > self._remaining:
            return None  # the last group's middle lies half a group back
        return self._claimed(tail.end, tail.weight * deviation, count)

    def _claimed(self, value: float, deviation: float, count: float) -> Claim | None:
        steady = self._z * deviation <= self._limit
        return Claim(value, max(deviation, count / math.sqrt(12.0))) if steady else None


@patient
def build(
    task: Task,
    *,
    window: float,
    z: float,
    remaining: float,
    share: float,
    spread: float,
    ignore: float,
    spike: float,
    batch: float,
) -> Method:
    dwell_s = dwell_of(task)
    judge = TailTest(
        window * dwell_s,
        Recent(dwell_s),
        Floor(task, ignore),
        z=z,
        remaining=remaining * task.tolerance,
        limit=share * task.tolerance,
        spread=spread * task.tolerance,
    )
    return Streaming(task, judge, spike=spike, batch=batch)


EXPONENTIAL_TAIL = Candidate(
    name="exponential fit, extrapolated",
    source="G. R. de Prony, Journal de l'Ecole Polytechnique 1(22) 1795",
    settings={
        "window": (0.75, 1.0, 1.25, 1.5, 2.0, 3.0),
        "z": (0.0, 0.25, 0.5, 1.0, 2.0),
        "remaining": (1.0, 0.5, 0.3, 0.2, 0.1, 0.05, 0.0),
        "share": (1.0, 0.7, 0.5, 0.35, 0.25, 0.15, 0.1),
        "spread": SPREAD,
        "ignore": IGNORE,
        "spike": SPIKE,
        "batch": (0.06, 0.12, 0.2, 0.3),
        "patience": PATIENCE,
    },
    build=build,
    good=(
        (3.0, 2.0, 0.2, 0.5, 0.07, 0.02, 2.0, 0.2, 0.0),
        (3.0, 2.0, 0.1, 0.5, 0.07, 0.05, 2.0, 0.2, 0.0),
        (1.0, 0.0, 0.3, 0.35, 0.25, 0.02, 2.0, 0.12, 0.3),
        (1.0, 0.0, 0.2, 0.35, 0.25, 0.05, 2.0, 0.12, 0.3),
        (1.25, 0.0, 0.2, 0.7, 0.2, 0.02, 2.0, 0.12, 0.3),
    ),
)
