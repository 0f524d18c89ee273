"""What a level is at this moment, for the hand that turns: the last readings, as far as they agree.

`Settled` judges where a level will come to rest; while a hand still turns that runs ahead of the truth and
snaps back, and once settled it stands while the hand makes small movements. Whoever turns needs the level
as it is. No value is captured from it.
"""

from collections import deque

from meterlog.quantity import Span


class Recent:
    """Mean of the last readings, those not older than `LONGEST_S` and within `SHARE` of `span` of the newest.

    More would be smoother, and late: what still averages over a small movement hides it from the hand.
    """

    LONGEST_S = 0.6
    MOST = 8
    SHARE = 0.25

    def __init__(self, span: Span) -> None:
        self._span = span
        self._points: deque[tuple[float, float]] = deque(maxlen=self.MOST)
        self.level: float | None = None
        self.readings = 0

    def clear(self) -> None:
        self._points.clear()
        self.level, self.readings = None, 0

    def feed(self, at_s: float, value: float | None) -> None:
        """A display without a number ends what was seen before."""
        if value is None:
            self.clear()
            return
        limit = self.SHARE * self._span.half_width(value)
        while self._points and at_s - self._points[0][0] > self.LONGEST_S:
            self._points.popleft()
        while self._points and not self._agrees(value, limit):
            self._points.popleft()
        self._points.append((at_s, value))
        self.readings = len(self._points)
        self.level = sum(level for _, level in self._points) / self.readings

    def _agrees(self, value: float, limit: float) -> bool:
        return all(abs(level - value) <= limit for _, level in self._points)
