"""So many readings inside a band, for as long as the dwell."""

from collections import deque
from typing import Literal

from tests.trials.settling.methods.candidate import (
    BATCH,
    PATIENCE,
    READINGS,
    SPIKE,
    WINDOW,
    Candidate,
    patient,
    window_of,
)
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Claim, Method, Task


class Extreme:
    """Largest value (or, sign -1, smallest) of a moving window.

    Holds only what may still become the extreme: D. Lemire, Nordic Journal of Computing 13 (2006).
    """

    def __init__(self, sign: Literal[1, -1]) -> None:
        self._sign = sign
        self._rivals: deque[tuple[float, float]] = deque()

    def clear(self) -> None:
        self._rivals.clear()

    def add(self, time_s: float, value: float, oldest_s: float) -> float:
        rivals, signed = self._rivals, value * self._sign
        while rivals and rivals[-1][1] <= signed:
            rivals.pop()
        rivals.append((time_s, signed))
        while rivals[0][0] < oldest_s:
            rivals.popleft()
        return rivals[0][1] * self._sign


class Band:
    """Steady when the last `window_s` hold `readings` at least and lie within `width` altogether."""

    def __init__(self, window_s: float, width: float, readings: float) -> None:
        self._recent, self._slack_s = Recent(window_s), window_s * 1e-9
        self._width, self._readings = width, readings
        self._highest, self._lowest = Extreme(1), Extreme(-1)

    def restart(self) -> None:
        for part in (self._recent, self._highest, self._lowest):
            part.clear()

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        self._recent.add(time_s, value)
        oldest_s = self._recent.oldest_s - self._slack_s
        width = self._highest.add(time_s, value, oldest_s) - self._lowest.add(time_s, value, oldest_s)
        steady = self._recent.full and self._recent.n >= self._readings and width <= self._width
        return self._recent.claim(count) if steady else None


@patient
def build(
    task: Task, *, window: float, width: float, readings: float, spike: float, batch: float = 0.0
) -> Method:
    band = Band(window_of(task, window, readings), width * task.tolerance, readings)
    return Streaming(task, band, spike=spike, batch=batch)


BAND = Candidate(
    name="readings inside a band",
    source="common practice",
    settings={
        "window": WINDOW,
        "width": (2.0, 1.5, 1.0, 0.75, 0.5, 0.35, 0.25, 0.15, 0.1),
        "readings": (3.0, *READINGS),
        "spike": SPIKE,
        "batch": BATCH,
        "patience": PATIENCE,
    },
    build=build,
    good=(
        (1.5, 0.15, 12.0, 2.0, 0.06, 0.0),
        (1.5, 0.15, 12.0, 2.0, 0.0, 0.0),
        (1.0, 0.5, 3.0, 2.0, 0.2, 0.3),
        (1.25, 0.5, 3.0, 2.0, 0.3, 0.2),
        (1.25, 0.5, 4.0, 2.0, 0.3, 0.2),
    ),
)
