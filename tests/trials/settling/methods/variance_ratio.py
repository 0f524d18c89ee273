"""Ratio of two estimates of the variance, with exponentially forgetting filters.

S. Cao and R. R. Rhinehart, Journal of Process Control 5(6) 1995, 363-374; critical values 7(2) 1997,
149-152.
"""

from tests.trials.settling.methods.candidate import (
    BATCH,
    IGNORE,
    PATIENCE,
    SPIKE,
    SPREAD,
    Candidate,
    dwell_of,
    patient,
)
from tests.trials.settling.methods.floor import Floor
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Claim, Method, Task


class RatioOfVariances:
    """Filters of the level (l1), of the squared deviation from it (l2) and of squared changes (l3)."""

    def __init__(self, l1: float = 0.2, l2: float = 0.1, l3: float = 0.1) -> None:
        self._l1, self._l2, self._l3 = l1, l2, l3
        self.clear()

    def clear(self) -> None:
        self._last: float | None = None
        self.filtered = self.deviation2 = self.change2 = 0.0

    def step(self, x: float, floor: float = 0.0) -> float | None:
        """The ratio after reading x, near 1 when steady; None while nothing has changed yet.

        floor: variance of independent noise thought added to the readings.
        """
        if self._last is None:
            self.filtered = self._last = x
            return None
        self.deviation2 += self._l2 * ((x - self.filtered) ** 2 - self.deviation2)
        self.filtered += self._l1 * (x - self.filtered)
        self.change2 += self._l3 * ((x - self._last) ** 2 - self.change2)
        self._last = x
        below = self.change2 + 2.0 * floor
        return ((2.0 - self._l1) * self.deviation2 + 2.0 * floor) / below if below > 0.0 else None


NEGLIGIBLE = 0.1


class RatioTest:
    """Steady from when the ratio falls below `steady` until it rises above `moving`.

    Also steady when the readings' deviation is a small part of the floor: a display that stands still has
    no ratio.
    """

    def __init__(
        self,
        ratio: RatioOfVariances,
        recent: Recent,
        steady: float,
        moving: float,
        spread: float,
        floor: Floor,
    ) -> None:
        self._ratio, self._recent, self._floor = ratio, recent, floor
        self._steady, self._moving, self._spread = steady, max(steady, moving), spread
        self._is_steady = False

    def restart(self) -> None:
        self._ratio.clear()
        self._recent.clear()
        self._is_steady = False

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        recent = self._recent
        recent.add(time_s, value)
        floor = self._floor.variance(count)
        ratio = self._ratio.step(value, floor)
        if ratio is not None:
            limit = self._moving if self._is_steady else self._steady
            self._is_steady = ratio < limit or self._ratio.deviation2 < NEGLIGIBLE * floor
        claimed = self._is_steady and recent.full and recent.spread <= self._spread
        return recent.claim(count) if claimed else None


@patient
def build(
    task: Task,
    *,
    l1: float,
    l2: float,
    steady: float,
    moving: float,
    spread: float,
    ignore: float,
    spike: float,
    batch: float,
) -> Method:
    ratio, recent = RatioOfVariances(l1, l2, l2), Recent(dwell_of(task))
    judge = RatioTest(ratio, recent, steady, moving, spread * task.tolerance, Floor(task, ignore))
    return Streaming(task, judge, spike=spike, batch=batch)


RATIO_OF_VARIANCES = Candidate(
    name="ratio of variances",
    source="S. Cao and R. R. Rhinehart, Journal of Process Control 5 (1995)",
    settings={
        "l1": (0.05, 0.1, 0.2, 0.4),
        "l2": (0.05, 0.1, 0.2, 0.4, 0.6),
        "steady": (2.0, 1.44, 1.2, 1.0, 0.9, 0.75),
        "moving": (3.0, 2.5, 2.0, 1.44),
        "spread": SPREAD,
        "ignore": IGNORE,
        "spike": SPIKE,
        "batch": BATCH,
        "patience": PATIENCE,
    },
    build=build,
    good=(
        (0.2, 0.4, 1.0, 2.5, 0.1, 0.05, 2.0, 0.06, 0.0),
        (0.2, 0.4, 0.9, 2.0, 0.1, 0.05, 2.0, 0.06, 0.0),
        (0.2, 0.4, 1.44, 2.5, 0.25, 0.2, 0.0, 0.06, 0.3),
        (0.2, 0.4, 1.2, 2.5, 0.3, 0.2, 0.0, 0.06, 0.3),
        (0.2, 0.4, 1.44, 3.0, 0.3, 0.1, 2.0, 0.06, 0.3),
    ),
)
