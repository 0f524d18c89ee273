"""When readings began that waited in a meter's memory. Pure: dates in, dates out.

A reading is dated by the beginning of its measurement, as if it had been asked for then: what a hand did
before cannot be in it. The meter measures evenly; so a date is that of the reading before and one interval
more, held within what is certain: never before the meter was started, never so late that the measurement
could not have been over when the answer came, and, if the memory had been emptied, not earlier than one
interval before the question that emptied it. A meter that measures without a pause had begun the next reading
when the one before was asked for: so none is later than that, however long a change of range has taken.
"""

from collections import deque
from collections.abc import Sequence

MARKS = 40
"""So many emptied memories back the interval is measured: long enough for a good mean, short enough to follow
a meter that changes its pace with its range."""


class Dating:
    """One start of the meter after another.

    interval_s: what one reading is expected to take; timed: whether a timer makes the meter wait between two.
    """

    def __init__(self, interval_s: float, *, timed: bool = False) -> None:
        self.interval_ns = round(interval_s * 1e9)
        self._timed = timed
        self._marks: deque[tuple[int, int]] = deque(maxlen=MARKS)
        self.started(0)

    def started(self, at_ns: int) -> None:
        """The meter begins to measure now; its memory is empty."""
        self._next_ns = self._floor_ns = self._emptied_ns = self._begun_ns = at_ns
        self._count = 0
        self._marks.clear()
        self._marks.append((at_ns, 0))

    def of(self, count: int, asked_ns: int, answered_ns: int, *, emptied: bool) -> Sequence[int]:
        """The dates of readings fetched now; emptied: the memory held no more when it was asked."""
        self._count += count
        if emptied and count:
            self._learn(asked_ns)
        dates = self._spread(count, answered_ns) if count else []
        if count:
            self._begun_ns = asked_ns
        if emptied:
            self._emptied_ns = asked_ns
        return dates

    def unread_s(self, now_ns: int) -> float:
        """How long ago the memory was last seen empty."""
        return (now_ns - self._emptied_ns) / 1e9

    def _learn(self, asked_ns: int) -> None:
        marked_ns, marked = self._marks[0]
        self.interval_ns = (asked_ns - marked_ns) // (self._count - marked)
        self._marks.append((asked_ns, self._count))

    def _spread(self, count: int, answered_ns: int) -> Sequence[int]:
        latest_ns = answered_ns - count * self.interval_ns
        if not self._timed:
            latest_ns = min(latest_ns, self._begun_ns)
        first_ns = min(max(self._next_ns, self._emptied_ns - self.interval_ns), latest_ns)
        first_ns = max(first_ns, self._floor_ns)
        # Where the interval is not yet known well, they are pushed together rather than into the future.
        step_ns = min(self.interval_ns, (answered_ns - first_ns) // count)
        dates = [first_ns + number * step_ns for number in range(count)]
        self._floor_ns = dates[-1]
        self._next_ns = dates[-1] + self.interval_ns
        return dates
