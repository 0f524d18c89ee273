"""Nested windows that all end now, each known by a mark in one set of running sums.

A reading costs the same however many windows there are. Marks are thinned out with age: their number depends
on the ratio of the longest window to the shortest, not on the number of readings.
"""

import math
from collections import deque
from collections.abc import Iterator

from meterlog.detect.sums import Line, Mark, Sums

STARTS_PER_SHORTEST = 8
"""Windows started within the shortest one: its end is met to an eighth."""

AGE_RATIO = 2.0
"""Least ratio of the ages of a window's neighbours beyond the shortest."""

LEAST_READINGS = 3
"""Readings that bear a line with something over to tell their scatter."""

ROUNDING = 1e-9
"""Relative slack for ages: readings exactly a dwell apart are a dwell apart, whatever the last bit says."""


class Windows:
    """Windows that end now, from the shortest admitted age to the longest."""

    def __init__(self, shortest_s: float, longest_s: float) -> None:
        self._shortest_s = shortest_s * (1.0 - ROUNDING)
        self._longest_s = longest_s
        self._spacing_s = self._shortest_s / STARTS_PER_SHORTEST
        self.clear()

    def clear(self) -> None:
        self._sums: Sums | None = None
        self._young: deque[Mark] = deque()
        self._grown: list[Mark] = []
        self._next_s = -math.inf
        self._turn = 0

    def add(self, time_s: float, value: float) -> bool:
        """Take a reading. True when a window has come of age with it: there is a new shortest one."""
        sums, young = self._sums, self._young
        if sums is None:
            sums = self._sums = Sums(time_s, value)
        if time_s < self._next_s:
            sums.add(time_s, value)
        else:
            young.append(sums.start(time_s, value))
            self._next_s = time_s + self._spacing_s
        if time_s - young[0].start_s < self._shortest_s:
            return False
        while time_s - young[0].start_s >= self._shortest_s:
            self._grown.append(young.popleft())
        self._thin(time_s)
        return True

    @property
    def grown(self) -> bool:
        """Whether there is a window as long as the shortest admitted."""
        return bool(self._grown)

    def shortest(self) -> Line | None:
        """Line of the shortest window with enough readings; None before there is one."""
        mark = self._shortest()
        return None if self._sums is None or mark is None else self._sums.line_since(mark)

    def shortest_mean(self) -> float | None:
        """Mean of the shortest window with enough readings."""
        mark = self._shortest()
        return None if self._sums is None or mark is None else self._sums.mean_since(mark)

    def another(self) -> Line | None:
        """Line of one of the longer windows, another one each time; None if there is none."""
        if self._sums is None or len(self._grown) < 2:
            return None
        self._turn = (self._turn - 1) % (len(self._grown) - 1)
        mark = self._grown[self._turn]
        return self._sums.line_since(mark) if self._sums.n - mark.n >= LEAST_READINGS else None

    def longest_first(self) -> Iterator[Line]:
        """Lines of all windows old enough and with enough readings."""
        if self._sums is not None:
            latest = self._sums.n - LEAST_READINGS
            yield from (self._sums.line_since(mark) for mark in self._grown if mark.n <= latest)

    def _shortest(self) -> Mark | None:
        if self._sums is None:
            return None
        latest = self._sums.n - LEAST_READINGS
        for mark in reversed(self._grown):
            if mark.n <= latest:
                return mark
        return None

    def cut(self, start_s: float) -> None:
        """Give up the window that started then, and all older ones, for good."""
        self._grown = [mark for mark in self._grown if mark.start_s > start_s]
        self._rebase()

    def cut_longer(self) -> None:
        """Give up all windows but the shortest, for good."""
        del self._grown[:-1]
        self._rebase()

    def _thin(self, now_s: float) -> None:
        """Drop what is too old and what lies too close between its neighbours."""
        grown, old = self._grown, 0
        for i in range(len(grown) - 2, 0, -1):
            if now_s - grown[i - 1].start_s < AGE_RATIO * (now_s - grown[i + 1].start_s):
                del grown[i]
        while len(grown) > old + 1 and now_s - grown[old + 1].start_s >= self._longest_s:
            old += 1
        if old:
            del grown[:old]
            self._rebase()

    def _rebase(self) -> None:
        if self._sums is not None and (marks := [*self._grown, *self._young]):
            marks = self._sums.rebase(marks)
            split = len(self._grown)
            self._grown, self._young = marks[:split], deque(marks[split:])
