"""How often a meter gives readings, learnt from their dates."""

from collections import deque
from statistics import median

GAPS_KEPT = 7
SHORTEST_S = 0.02
"""Below this two dates say how the adapter bundles bytes, not how fast the meter is (common practice)."""


class Period:
    """The median of the last gaps, so that one outage or one bundle of frames does not count."""

    def __init__(self, expected_s: float) -> None:
        self._expected_s = expected_s
        self._gaps_s: deque[float] = deque(maxlen=GAPS_KEPT)
        self._last_ns: int | None = None

    def after(self, at_ns: int) -> float:
        """Seconds between readings, now that one dated at_ns has come."""
        if self._last_ns is not None:
            self._keep((at_ns - self._last_ns) / 1e9)
        self._last_ns = at_ns
        return median(self._gaps_s) if self._gaps_s else self._expected_s

    def _keep(self, gap_s: float) -> None:
        if gap_s >= SHORTEST_S:
            self._gaps_s.append(gap_s)
