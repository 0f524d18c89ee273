"""Nested windows that all end now, each known by a mark in one set of running sums.

A reading costs the same however many windows there are. Marks are thinned out with age: their number depends
on the ratio of the longest window to the shortest, not on the number of readings.
"""

import math
from collections import deque
from collections.abc import Iterator

from meterlog.detect.sums import START_S, Line, Mark, N, Sums

STARTS_PER_SHORTEST = 8
"""Windows started within the shortest one: its end is met to an eighth."""

AGE_RATIO = 2.0
"""Least ratio of the ages of a window's neighbours beyond the shortest."""

LEAST_READINGS = 5
"""Of three that happen to agree the scatter is not known: they settle too often, and hold the truth in 80 %
(docs/uncertainty.md)."""

ROUNDING = 1e-9
"""Relative slack for ages: readings exactly a dwell apart are a dwell apart, whatever the last bit says."""


class Windows:
    """Windows that end now, from the shortest admitted age to the longest.

    grown  marks of those as old as the shortest admitted, oldest first; to look at only
    """

    def __init__(self, shortest_s: float, longest_s: float) -> None:
        self._shortest_s = shortest_s * (1.0 - ROUNDING)
        self._longest_s = longest_s
        self._spacing_s = self._shortest_s / STARTS_PER_SHORTEST
        self.clear()

    def clear(self) -> None:
        self._sums: Sums | None = None
        self._young: deque[Mark] = deque()
        self.grown: list[Mark] = []
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
        if time_s - young[0][START_S] < self._shortest_s:
            return False
        while time_s - young[0][START_S] >= self._shortest_s:
            self.grown.append(young.popleft())
        self._thin(time_s)
        return True

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
        if self._sums is None or len(self.grown) < 2:
            return None
        self._turn = (self._turn - 1) % (len(self.grown) - 1)
        mark = self.grown[self._turn]
        return self._sums.line_since(mark) if self._sums.n - mark[N] >= LEAST_READINGS else None

    def longest_first(self) -> Iterator[Line]:
        """Lines of all windows old enough and with enough readings."""
        if self._sums is None:
            return
        latest = self._sums.n - LEAST_READINGS
        for mark in self.grown:
            if mark[N] <= latest:
                yield self._sums.line_since(mark)

    def _shortest(self) -> Mark | None:
        if self._sums is None:
            return None
        latest = self._sums.n - LEAST_READINGS
        for mark in reversed(self.grown):
            if mark[N] <= latest:
                return mark
        return None

    def cut(self, start_s: float) -> None:
        """Give up the window that started then, and all older ones, for good."""
        self.grown = [mark for mark in self.grown if mark[START_S] > start_s]
        self._rebase()

    def cut_longer(self) -> None:
        """Give up all windows but the shortest, for good."""
        del self.grown[:-1]
        self._rebase()

    def _thin(self, now_s: float) -> None:
        """Drop what is too old and what lies too close between its neighbours."""
        grown, old = self.grown, 0
        younger_s = now_s - grown[-1][START_S]
        for i in range(len(grown) - 2, 0, -1):
            if now_s - grown[i - 1][START_S] < AGE_RATIO * younger_s:
                del grown[i]
            else:
                younger_s = now_s - grown[i][START_S]
        while len(grown) > old + 1 and now_s - grown[old + 1][START_S] >= self._longest_s:
            old += 1
        if old:
            del grown[:old]
            self._rebase()

    def _rebase(self) -> None:
        if self._sums is not None and (marks := [*self.grown, *self._young]):
            marks = self._sums.rebase(marks)
            split = len(self.grown)
            self.grown, self._young = marks[:split], deque(marks[split:])
