"""Kalman filter for a level and its trend.

A. C. Harvey, Forecasting, Structural Time Series Models and the Kalman Filter (1989), local linear trend;
for readings at any times the trend is a Wiener process (section 9.2, from memory).
"""

import math

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
from tests.trials.settling.methods.noise import Noise
from tests.trials.settling.methods.recent import Recent
from tests.trials.settling.methods.streaming import Streaming
from tests.trials.settling.trial import Claim, Method, Task

LEAST_READINGS = 4
MEMORY = 0.1


class LocalLinearTrend:
    """Level and trend per s with their covariance; at first the trend is as good as unknown.

    misfit   mean square of the latest surprises over their variance, 1 if the model is right
    """

    def __init__(self, wander: float, unknown: float) -> None:
        self._wander, self._unknown = wander, unknown
        self.clear()

    def clear(self) -> None:
        self.n = 0
        self.level = self.trend = self.p_ll = self.p_lt = self.p_tt = 0.0
        self.misfit = 1.0

    def step(self, x: float, interval_s: float, noise: float) -> None:
        """Take a reading with variance `noise`; the trend's variance grows by `wander` per s."""
        self.n += 1
        if self.n == 1:
            self.level, self.p_ll, self.p_tt = x, noise, self._unknown
            return
        self._predict(interval_s)
        variance, surprise = self.p_ll + noise, x - self.level
        gain_l, gain_t = self.p_ll / variance, self.p_lt / variance
        if self.n > 2:  # two readings fit any line
            self.misfit += MEMORY * (surprise * surprise / variance - self.misfit)
        self.level += gain_l * surprise
        self.trend += gain_t * surprise
        self.p_tt -= gain_t * self.p_lt
        self.p_lt -= gain_l * self.p_lt
        self.p_ll -= gain_l * self.p_ll

    def _predict(self, s: float) -> None:
        self.level += self.trend * s
        self.p_ll += s * (2.0 * self.p_lt + s * self.p_tt) + self._wander * s**3 / 3.0
        self.p_lt += s * self.p_tt + self._wander * s * s / 2.0
        self.p_tt += self._wander * s

    def deviation_ahead(self, s: float) -> float:
        """Standard deviation of the level s seconds on, the trend as it is now."""
        return math.sqrt(self.p_ll + 2.0 * s * self.p_lt + s * s * self.p_tt)


class TrendTest:
    """Steady when the trend over `ahead_s`, and z standard deviations, are within `limit`.

    The deviations are those of the model, widened where it does not fit the readings. Nor may the readings
    of the last dwell, in `recent`, spread by more than `spread`.
    """

    def __init__(
        self,
        trend: LocalLinearTrend,
        recent: Recent,
        floor: Floor,
        *,
        ahead_s: float,
        z: float,
        limit: float,
        spread: float,
    ) -> None:
        self._trend, self._recent, self._floor, self._noise = trend, recent, floor, Noise()
        self._ahead_s, self._z, self._limit, self._spread = ahead_s, z, limit, spread
        self._last_s = 0.0

    def restart(self) -> None:
        self._trend.clear()
        self._recent.clear()
        self._noise.restart()

    def take(self, time_s: float, value: float, count: float) -> Claim | None:
        trend, interval_s = self._trend, time_s - self._last_s
        self._last_s = time_s
        trend.step(value, interval_s, self._noise.step(value) + self._floor.variance(count))
        ahead_s = self._ahead_s
        widening = math.sqrt(max(1.0, trend.misfit))
        bound = abs(trend.trend) * ahead_s + self._z * widening * trend.deviation_ahead(ahead_s)
        self._recent.add(time_s, value)
        if trend.n < LEAST_READINGS or bound > self._limit or self._recent.spread > self._spread:
            return None
        return Claim(trend.level, max(widening * math.sqrt(trend.p_ll), count / math.sqrt(12.0)))


@patient
def build(
    task: Task,
    *,
    wander: float,
    ahead: float,
    z: float,
    share: float,
    spread: float,
    ignore: float,
    spike: float,
    batch: float,
) -> Method:
    dwell_s = dwell_of(task)
    per_dwell = task.tolerance / dwell_s
    trend = LocalLinearTrend((wander * per_dwell) ** 2 / dwell_s, (1000.0 * per_dwell) ** 2)
    judge = TrendTest(
        trend,
        Recent(dwell_s),
        Floor(task, ignore),
        ahead_s=ahead * dwell_s,
        z=z,
        limit=share * task.tolerance,
        spread=spread * task.tolerance,
    )
    return Streaming(task, judge, spike=spike, batch=batch)


LOCAL_LINEAR_TREND = Candidate(
    name="Kalman local linear trend",
    source="A. C. Harvey, Forecasting, Structural Time Series Models and the Kalman Filter (1989)",
    settings={
        "wander": (0.01, 0.03, 0.1, 0.3, 1.0, 3.0, 10.0),
        "ahead": (0.25, 0.5, 1.0, 2.0, 4.0),
        "z": (0.0, 0.25, 0.5, 1.0, 2.0),
        "share": (2.0, 1.4, 1.0, 0.7, 0.5, 0.35, 0.25, 0.15, 0.1),
        "spread": SPREAD,
        "ignore": IGNORE,
        "spike": SPIKE,
        "batch": BATCH,
        "patience": PATIENCE,
    },
    build=build,
    good=(
        (0.1, 4.0, 1.0, 1.0, 0.25, 0.2, 2.0, 0.0, 0.0),
        (0.1, 4.0, 1.0, 1.0, 0.3, 0.05, 2.0, 0.06, 0.0),
        (3.0, 1.0, 0.25, 1.4, 0.2, 0.35, 2.0, 0.0, 0.3),
        (3.0, 0.5, 0.25, 1.0, 0.25, 0.35, 2.0, 0.12, 0.3),
        (10.0, 0.25, 0.25, 1.0, 0.2, 0.35, 2.0, 0.2, 0.3),
    ),
)
