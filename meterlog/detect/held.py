"""A value announced as settled: whether what follows proves it wrong, and how its level wanders."""

from collections import deque
from enum import Enum, auto

from meterlog.detect.estimate import NOT_KNOWN, Usual
from meterlog.detect.sums import Line
from meterlog.detect.windows import Windows

EARLIER = 12
"""Dwells that a new one is compared with."""

LARGEST_LESSON = 0.6
"""Of a departure no more than this share of the tolerance is taken for wander. A hand that creeps looks the
same as a level that wanders; taken at its word it would leave a detector that never settles again. For the
same reason what was learnt fades by half with each dwell in which nothing is held."""


MOST_USUAL = 12.0
"""Degrees of freedom that what was learnt counts for at most: scatter changes with the level."""


class Fate(Enum):
    """What has become of the announced value."""

    NONE = auto()  # nothing is announced
    STANDS = auto()
    LEFT = auto()  # the operator moved on, or it went too late to matter
    WRONG = auto()  # it crept out of tolerance by itself


NONE, STANDS, LEFT, WRONG = Fate


class Held:
    """Keeps the value first announced and follows what the dwells after it say.

    The level has left when the mean of the last dwell is more than the tolerance away. Faster than one
    tolerance per dwell it was a hand; later than `reach_s` nothing had been claimed any more.
    """

    def __init__(self, dwell_s: float, reach_s: float) -> None:
        self._dwell_s, self._reach_s = dwell_s, reach_s
        self._value: float | None = None
        self._since_s = self._next_s = 0.0
        self._earlier: deque[float] = deque(maxlen=EARLIER)
        self._wander = Wander()
        self._usual = NOT_KNOWN

    @property
    def wander_variance(self) -> float:
        """By how much held levels of this channel wandered unseen by a window, base unit squared."""
        return self._wander.variance

    def announce(self, time_s: float, value: float) -> None:
        """The first announcement counts; later, better estimates of the same level do not renew it."""
        if self._value is None:
            self._value, self._since_s, self._next_s = value, time_s, time_s + self._dwell_s
            self._earlier.clear()

    def drop(self) -> None:
        """The level was left, or may have been."""
        self._value = None

    @property
    def usual(self) -> Usual:
        """The scatter of readings about levels held before."""
        return self._usual

    def fate(self, time_s: float, windows: Windows, tolerance: float) -> Fate:
        """What the last dwell means for the announced value; LEFT and WRONG drop it."""
        if self._value is None or (mean := windows.shortest_mean()) is None:
            self._idle(time_s)
            return NONE
        departure = abs(mean - self._value)
        if departure <= tolerance:
            if time_s >= self._next_s:
                self._follow(time_s, windows.shortest(), tolerance)
            return STANDS
        self._value = None
        if self._by_hand(windows, tolerance) or time_s > self._since_s + self._reach_s:
            return LEFT
        self._learn(departure * departure, tolerance)
        return WRONG

    def _idle(self, time_s: float) -> None:
        """Nothing is held: once per dwell, what was learnt fades."""
        if time_s >= self._next_s:
            self._next_s = time_s + self._dwell_s
            self._wander.fade()

    def _by_hand(self, windows: Windows, tolerance: float) -> bool:
        line = windows.shortest()
        return line is not None and abs(line.slope_per_s) * self._dwell_s > tolerance

    def _learn(self, excess: float, tolerance: float) -> None:
        self._wander.learn(min(excess, (LARGEST_LESSON * tolerance) ** 2))

    def _follow(self, time_s: float, last_dwell: Line | None, tolerance: float) -> None:
        """Compare this dwell's mean with the ones before it."""
        if last_dwell is None:
            return
        self._next_s = time_s + self._dwell_s
        self._usual = _learnt(self._usual, last_dwell)
        if self._earlier:
            departure = last_dwell.mean - sum(self._earlier) / len(self._earlier)
            own = last_dwell.variance / last_dwell.n
            self._learn(departure * departure - own * (1.0 + 1.0 / len(self._earlier)), tolerance)
        self._earlier.append(last_dwell.mean)


def _learnt(usual: Usual, line: Line) -> Usual:
    """The scatter known so far with that of another dwell, older ones fading."""
    degrees = max(1.0, line.n / line.widening - 2.0)
    all_degrees = usual.degrees + degrees
    variance = (usual.degrees * usual.variance + degrees * line.variance) / all_degrees
    return Usual(variance, min(MOST_USUAL, all_degrees))


class Wander:
    """Mean square by which dwells of one held level lie further apart than their scatter explains.

    Slow noise (1/f, temperature, a beat) does not show within one window; only its neighbours tell.
    """

    PRIOR = 3.0  # dwells without wander that are taken for granted: one surprise is not yet a habit
    MEMORY = 40.0  # dwells after which older ones fade

    def __init__(self) -> None:
        self._sum = self._weight = 0.0

    @property
    def variance(self) -> float:
        return max(0.0, self._sum / (self._weight + self.PRIOR))

    def fade(self) -> None:
        self._sum *= 0.5

    def learn(self, excess: float) -> None:
        """`excess`: squared distance less the variances of both ends, base unit squared; may be below 0."""
        fade = 1.0 - 1.0 / self.MEMORY
        self._sum = fade * self._sum + excess
        self._weight = fade * self._weight + 1.0
