"""Watching one channel settle: a `Settled` detector with what the person needs to know beside it."""

import math
from dataclasses import dataclass

from meterlog.detect import Motion, Settled, Settlement, Tolerance, explain
from meterlog.procedure.patterns.recent import Recent
from meterlog.quantity import Span
from meterlog.reading import Reading, State


@dataclass(frozen=True, slots=True)
class Stillness:
    """When a value counts as settled: within `span`, for `dwell_s`; the meter's own averaging is `lag_s`."""

    span: Span
    dwell_s: float
    lag_s: float = 0.0


class Freshness:
    """Whether readings still come: the last one is not older than two seconds, or three usual intervals."""

    LEAST_S = 2.0
    INTERVALS = 3.0

    def __init__(self) -> None:
        self._last_s = -math.inf
        self._interval_s = 0.0

    def seen(self, at_s: float) -> None:
        if self._last_s > -math.inf:
            self._interval_s = at_s - self._last_s
        self._last_s = at_s

    def lasts(self, at_s: float) -> bool:
        return at_s - self._last_s <= max(self.LEAST_S, self.INTERVALS * self._interval_s)


class Watch:
    """Feeds readings to the detector; a held or relative display is no evidence and says so."""

    def __init__(self, stillness: Stillness, tolerance: Tolerance | None = None) -> None:
        """`tolerance`: how well the level must be known where it is; that of `stillness` if None."""
        known = tolerance or stillness.span.half_width
        self._detector = Settled(known, stillness.dwell_s, lag_s=stillness.lag_s)
        self._recent = Recent(stillness.span)
        self.restart()

    def restart(self) -> None:
        """Forget everything but the meter's rhythm: the level may have moved unseen."""
        self._detector.reset()
        self._recent.clear()
        self.freshness = Freshness()
        self.settlement = Settlement(motion=Motion.WAITING)
        self.unfit: frozenset[str] = frozenset()

    def feed(self, at_s: float, reading: Reading) -> Settlement:
        self.unfit = reading.unfit
        if not self.freshness.lasts(at_s):
            self._detector.reset()
            self._recent.clear()
        self.freshness.seen(at_s)
        state, value = (State.INVALID, None) if self.unfit else (reading.state, reading.value)
        self._recent.feed(at_s, value)
        self.settlement = self._detector.update(
            at_s, value, state, resolution=reading.resolution, range_max=reading.range_max
        )
        return self.settlement

    @property
    def level(self) -> float | None:
        """Where the level is judged to be or to come to rest: for what is captured or decided."""
        return self.settlement.value

    @property
    def present(self) -> float | None:
        """Where the level is now: for the hand that turns, and for the eye."""
        return self._recent.level

    @property
    def agreeing(self) -> int:
        """How many readings say so."""
        return self._recent.readings

    @property
    def settled(self) -> bool:
        return self.settlement.motion is Motion.SETTLED

    @property
    def why_not(self) -> str:
        """Why it is not settled, in words and numbers; "" when it is."""
        if self.unfit:
            return f"the meter's display is on {', '.join(sorted(self.unfit)).upper()}: switch that off"
        return explain(self.settlement)
