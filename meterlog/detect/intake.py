"""What every detector does with a reading first: order, gaps, range changes, wild ones."""

import math
from collections import deque
from enum import Enum, auto
from typing import NamedTuple

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

    Six numbers in a row, each two to four counts and more from the last and each shown two to five times,
    are no chance of a noisy display; nor are three that were each shown six times and more, for much the
    same time. From then on a number shown again is an echo, no evidence of its own, up to as often as was
    usual. A display that stands still for longer stands still: after short runs each reading counts again,
    after long ones one for each measurement that it has had the time for. What long runs told holds until a
    shorter one.
    """

    SHORT_RUNS, LONG_RUNS = 6, 3
    LONGEST_SHORT = 5
    LEAST_COUNTS = 2.5

    SLOWEST_S = 1.25
    """No meter that is read for a level to settle measures much more seldom than once a second."""

    UNEVEN, UNEVEN_READINGS = 0.1, 2.0
    """By what share of its time, and by how many readings, one run may be longer than another."""

    SHORTENED = 0.7
    """A run of less than this share of what was usual is no run of echoes."""

    def __init__(self) -> None:
        self._runs: deque[_Run] = deque(maxlen=self.SHORT_RUNS)
        self._value: float | None = None
        self._began_s = 0.0
        self._run = self._usual = 0

    def again(self, time_s: float, value: float, count: float) -> bool:
        """Whether `value` only repeats the one before."""
        if value == self._value:
            self._run += 1
            if self._usual > self.LONGEST_SHORT:
                return self._run % self._usual != 1
            return self._run <= self._usual
        if self._run == 1 or count <= 0.0 or self._value is None:  # shown once: no echoes here
            if self._runs:
                self._runs.clear()
                self._usual = 0
        else:
            self._runs.append(_Run(self._run, time_s - self._began_s, abs(value - self._value) / count))
            self._usual = self._long() or self._still_long() or self._short()
        self._value, self._run, self._began_s = value, 1, time_s
        return False

    def _short(self) -> int:
        """How often a number is usually shown, 0 if that is not known."""
        runs = [*self._runs]
        longest = max(run.readings for run in runs)
        sure = len(runs) == self.SHORT_RUNS and longest <= self.LONGEST_SHORT and self._jumps(runs)
        return longest if sure else 0

    def _long(self) -> int:
        """The same from runs of much the same time, as no hand and no signal lets numbers stand."""
        runs = [*self._runs][-self.LONG_RUNS :]
        if len(runs) < self.LONG_RUNS or min(run.readings for run in runs) <= self.LONGEST_SHORT:
            return 0
        longest, longest_s = max(run.readings for run in runs), max(run.took_s for run in runs)
        apart_s = longest_s - min(run.took_s for run in runs)
        even = apart_s <= max(self.UNEVEN_READINGS * longest_s / longest, self.UNEVEN * longest_s)
        return longest if even and longest_s <= self.SLOWEST_S and self._jumps(runs) else 0

    def _still_long(self) -> int:
        long = self._usual > self.LONGEST_SHORT and self._run >= self.SHORTENED * self._usual
        return self._usual if long else 0

    def _jumps(self, runs: list["_Run"]) -> bool:
        return sorted(run.change for run in runs)[len(runs) // 2] >= self.LEAST_COUNTS


class _Run(NamedTuple):
    """How often and how long a number was shown, and how many counts away the next one was."""

    readings: int
    took_s: float
    change: float
