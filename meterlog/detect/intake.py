"""What every detector does with a reading first: order, gaps, range changes, wild ones."""

import math
from collections import deque
from enum import Enum, auto

from meterlog.reading import State

GAP_PERIODS = 3.0
"""A pause of more than so many usual intervals is a gap: what happened in between is unknown."""

SILENT_S = 2.0
"""Without a reading for so long, and for as long as makes a gap, the meter is silent."""

SET_BACK_S = 10.0
"""A reading so much earlier than the last one is no late packet: the clock was set back."""

PERIOD_MEMORY = 8.0
"""Intervals over which the usual one is learnt; a changed rhythm is the new rhythm after about so many."""


Point = tuple[float, float]
"""Time in s and value in the base unit."""


class Intake(Enum):
    """What a reading is to the detector."""

    IGNORED = auto()  # not later than the last one: a duplicate or a late packet
    BROKEN = auto()  # no value
    FRESH = auto()  # a value, but what came before no longer counts: first one, gap, range change
    FOLLOWING = auto()  # a value that continues the ones before


IGNORED, BROKEN, FRESH, FOLLOWING = Intake
OK = State.OK
"""Looked up once: to ask the class for a member costs more than all else that is asked of every reading."""


class Gate:
    """Sorts readings by time, state and range, and learns the usual interval between them."""

    def __init__(self, reading_period_s: float | None = None) -> None:
        if reading_period_s is not None and not reading_period_s > 0:
            raise ValueError(
                f"reading_period_s is {reading_period_s}: give the seconds between readings, above 0"
            )
        self.period_s = reading_period_s
        self.last_s = -math.inf
        self._whole = False  # a value came last
        self.range_max: float | None = None

    def sort(self, time_s: float, value: float | None, state: State, range_max: float | None) -> Intake:
        """Raises ValueError for a time or value that is no number, or a value that contradicts its state."""
        _check(time_s, value, state)
        if time_s <= self.last_s:
            if time_s > self.last_s - SET_BACK_S:
                return IGNORED
            self.reset()
            self.last_s = -math.inf
        interval_s, self.last_s = time_s - self.last_s, time_s
        if value is None:
            self._whole = False
            return BROKEN
        follows = not self._is_gap(interval_s) and self._whole and range_max == self.range_max
        self._whole, self.range_max = True, range_max
        return FOLLOWING if follows else FRESH

    def silent(self, time_s: float) -> bool:
        """Whether readings have ceased to come."""
        return time_s - self.last_s > max(SILENT_S, GAP_PERIODS * (self.period_s or 0.0))

    def reset(self) -> None:
        """The next value starts afresh. Keeps the time line and the rhythm learnt."""
        self._whole = False

    def _is_gap(self, interval_s: float) -> bool:
        period_s = self.period_s
        if interval_s == math.inf:
            return False
        if period_s is None:
            self.period_s = interval_s
            return False
        longest_s = GAP_PERIODS * period_s
        gap = interval_s > longest_s
        # A gap teaches too, but no more than its limit: three in a row and the new rhythm is known.
        self.period_s = period_s + ((longest_s if gap else interval_s) - period_s) / PERIOD_MEMORY
        return gap


def _check(time_s: float, value: float | None, state: State) -> None:
    if not math.isfinite(time_s):
        raise ValueError(f"time_s is {time_s}: give seconds on the session's time line")
    if (value is None) == (state is OK):
        raise ValueError(f"state {state} and value {value} contradict each other")
    if value is not None and not math.isfinite(value):
        raise ValueError(f"value is {value}: what is not a number is a state, never a value")


class Guard:
    """Holds back a reading that stands alone until its successor speaks for it or against it.

    A reading further than the limit from the one before is kept waiting. If the next one lies nearer to it
    than to the one before, both are passed on, in order, with their own times. If not, the waiting one was
    wild and is dropped; the next one is used if it is near the one before, or else waits in its turn. The
    very first reading has nothing to lean on and waits for a second one near it, or for two more that go
    on the same way: a level met in the middle of a sweep. The limit is the larger of what the caller
    states and six times the usual change between readings.
    """

    USUAL_CHANGES = 7
    LIMIT = 6.0

    def __init__(self) -> None:
        self._changes: deque[float] = deque(maxlen=self.USUAL_CHANGES)
        self.wild = 0
        self.reset()

    def reset(self) -> None:
        """Forget the readings and what their usual change was."""
        self._last: float | None = None
        self._waiting: Point | None = None
        self._seen: float | None = None
        self._changes.clear()

    @property
    def usual_change(self) -> float:
        """Median of the last few; 0.0 before there are five, for one wild reading makes two large ones."""
        changes = self._changes
        return sorted(map(abs, changes))[len(changes) // 2] if len(changes) > 4 else 0.0

    def pass_on(self, time_s: float, value: float, limit: float) -> tuple[Point, ...]:
        """The readings that may be used now: none, this one, or the one held back and this one."""
        apart = math.inf if self._last is None else abs(value - self._last)
        if apart > limit:
            limit = max(limit, self.LIMIT * self.usual_change)
        if self._seen is not None:
            self._changes.append(value - self._seen)
        self._seen = value
        this, waited, self._waiting = (time_s, value), self._waiting, None
        if apart <= limit:
            if waited is not None:
                self.wild += 1
            self._last = value
            return (this,)
        nearest = limit if self._last is None else apart
        alone = waited is None or abs(value - waited[1]) > nearest
        if waited is None or (alone and not (self._last is None and self._sweeping())):
            self.wild += waited is not None and self._last is not None
            self._waiting = this
            return ()
        self._last = value
        return (waited, this)

    def _sweeping(self) -> bool:
        """The last two changes go the same way and are much alike."""
        if len(self._changes) < 2 or not self._changes[-2]:
            return False
        return 0.5 <= self._changes[-1] / self._changes[-2] <= 2.0


class Echoes:
    """Knows a meter that is asked faster than it measures: it answers with the same number again.

    Six numbers in a row, each two to four counts and more from the last and each shown at least twice, are
    no chance of a noisy display; from then on a number shown again is an echo, no evidence of its own, up
    to as often as was usual. A display that stands still for longer stands still.
    """

    RUNS = 6
    LONGEST = 5
    LEAST_COUNTS = 2.5

    def __init__(self) -> None:
        self._runs: deque[int] = deque(maxlen=self.RUNS)
        self._changes: deque[float] = deque(maxlen=self.RUNS)  # in counts, at the end of each run
        self._value: float | None = None
        self._run = self._usual = 0

    def again(self, value: float, count: float) -> bool:
        """Whether `value` only repeats the one before."""
        if value == self._value:
            self._run += 1
            return self._run <= self._usual
        if self._run == 1 or count <= 0.0 or self._value is None:  # shown once: no echoes here
            self._forget()
        else:
            self._end_run(abs(value - self._value) / count)
        self._value, self._run = value, 1
        return False

    def _forget(self) -> None:
        if self._runs:
            self._runs.clear()
            self._changes.clear()
            self._usual = 0

    def _end_run(self, change: float) -> None:
        self._runs.append(self._run)
        self._changes.append(change)
        self._usual = 0
        if len(self._runs) == self.RUNS:
            longest = max(self._runs)
            if longest <= self.LONGEST and sorted(self._changes)[self.RUNS // 2] >= self.LEAST_COUNTS:
                self._usual = longest
