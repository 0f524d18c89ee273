"""What every method under trial gets for its readings: the same care, so that only the statistics differ.

Readings not later than the last are ignored. A reading without a value, a gap, another range and a jump
that a second reading confirms begin anew. No claim before a dwell has passed since then.
"""

import math
from collections import deque
from typing import Protocol

from tests.trials.settling.methods.candidate import dwell_of
from tests.trials.settling.trial import Claim, Task
from tests.trials.shown import Shown

GAP_PERIODS = 3.5
"""Longest interval, in usual ones, over which readings count as following each other."""

USUAL_CHANGES = 7
JUMP_CHANGES = 6.0
"""A jump is more than the tolerance, two counts, and so many usual changes between readings."""

MEDIAN_OF_THREE, DROP_LONE = 1.0, 2.0


class Judge(Protocol):
    """A method proper. It sees values only, in order of time, nothing broken in between."""

    def restart(self) -> None: ...

    def take(self, time_s: float, value: float, count: float) -> Claim | None: ...


class Streaming:
    """A judge with its readings cared for.

    spike   0 nothing; 1 readings are replaced by the median of the last three; 2 a reading that stands
            alone is dropped
    batch   readings are averaged over so many dwells before they are judged; 0 not
    """

    def __init__(self, task: Task, judge: Judge, *, spike: float = 0.0, batch: float = 0.0) -> None:
        self._judge, self._spike = judge, spike
        self._tolerance, self._dwell_s, self._period_s = task.tolerance, dwell_of(task), task.period_s
        self._batch = Batch(batch * self._dwell_s)
        self._last_s = -math.inf
        self._range_max: float | None = None
        self._changes: deque[float] = deque(maxlen=USUAL_CHANGES)
        self._raw: deque[float] = deque(maxlen=3)
        self._restart()

    def update(self, shown: Shown) -> Claim | None:
        if shown.time_s <= self._last_s:
            return self._claim
        interval_s, self._last_s = shown.time_s - self._last_s, shown.time_s
        if shown.value is None:
            self._begin_again()
            return None
        if self._is_gap(interval_s) or shown.range_max != self._range_max:
            self._begin_again()
        self._range_max = shown.range_max
        self._sift(shown.time_s, self._smoothed(shown.value), shown.resolution)
        return self._claim

    def _is_gap(self, interval_s: float) -> bool:
        gap = interval_s > GAP_PERIODS * self._period_s
        if math.isfinite(interval_s):  # a rhythm slower than told is learnt, a single gap hardly counts
            self._period_s += (min(interval_s, 3.0 * self._period_s) - self._period_s) / 8.0
        return gap

    def _begin_again(self) -> None:
        self._changes.clear()
        self._raw.clear()
        self._restart()

    def _restart(self) -> None:
        self._judge.restart()
        self._batch.clear()
        self._claim: Claim | None = None
        self._since_s: float | None = None
        self._near: float | None = None
        self._doubtful: tuple[float, float] | None = None

    def _smoothed(self, value: float) -> float:
        if self._raw:
            self._changes.append(abs(value - self._raw[-1]))
        self._raw.append(value)
        return sorted(self._raw)[len(self._raw) // 2] if self._spike == MEDIAN_OF_THREE else value

    def _sift(self, time_s: float, value: float, count: float) -> None:
        near, doubtful = self._near, self._doubtful
        if near is None or abs(value - near) <= self._jump(count):
            self._near, self._doubtful = value, None
            self._feed(time_s, value, count)
        elif doubtful is not None and (value - near) * (doubtful[1] - near) > 0.0:
            self._restart()
            self._feed(*doubtful, count)
            self._feed(time_s, value, count)
            self._near = value
        else:
            self._doubtful = (time_s, value)
            if self._spike != DROP_LONE:
                self._feed(time_s, value, count)

    def _jump(self, count: float) -> float:
        changes = sorted(self._changes)
        usual = changes[len(changes) // 2] if len(changes) > 4 else 0.0
        return max(self._tolerance, 2.0 * count, JUMP_CHANGES * usual)

    def _feed(self, time_s: float, value: float, count: float) -> None:
        if self._since_s is None:
            self._since_s = time_s
        mean = self._batch.add(time_s, value, self._period_s)
        if mean is None:
            return
        claim = self._judge.take(*mean, count)
        old_enough = time_s - self._since_s >= self._dwell_s * (1.0 - 1e-9)
        self._claim = claim if old_enough else None


class Batch:
    """Means of time and value over `span_s`; every reading by itself if that holds no second one."""

    def __init__(self, span_s: float) -> None:
        self._span_s = span_s
        self.clear()

    def clear(self) -> None:
        self._n, self._st, self._sx = 0, 0.0, 0.0
        self._start_s = self._start = 0.0

    def add(self, time_s: float, value: float, period_s: float) -> tuple[float, float] | None:
        """The batch that this reading completes: the next one, a period later, would lie outside."""
        if self._span_s == 0.0:
            return time_s, value
        if not self._n:
            self._start_s, self._start = time_s, value
        self._n += 1
        self._st += time_s - self._start_s
        self._sx += value - self._start
        if time_s - self._start_s + period_s < self._span_s * (1.0 - 1e-9):
            return None
        mean = self._start_s + self._st / self._n, self._start + self._sx / self._n
        self._n, self._st, self._sx = 0, 0.0, 0.0
        return mean
