"""Watching one channel settle: a `Settled` detector with what the person needs to know beside it."""

from dataclasses import dataclass

from meterlog.detect import Motion, Reason, Settled, Settlement, Tolerance, explain
from meterlog.procedure.patterns.recent import Recent
from meterlog.quantity import Span
from meterlog.reading import Reading

HAND_S = 0.4
"""From a level to the hand that has heard of it and stops."""


@dataclass(frozen=True, slots=True)
class Stillness:
    """When a value counts as settled: within `span`, for `dwell_s`; the meter's own averaging is `lag_s`."""

    span: Span
    dwell_s: float
    lag_s: float = 0.0


class Watch:
    """Feeds readings to the detector; a held or relative display is no evidence and says so."""

    def __init__(self, stillness: Stillness, tolerance: Tolerance | None = None) -> None:
        """`tolerance`: how well the level must be known where it is; that of `stillness` if None."""
        known = tolerance or stillness.span.half_width
        self._detector = Settled(known, stillness.dwell_s, lag_s=stillness.lag_s)
        self._recent = Recent(stillness.span, stillness.lag_s)
        self.restart()

    def restart(self) -> None:
        """Forget everything but the meter's rhythm: the level may have moved unseen."""
        self._detector.reset()
        self._recent.clear()
        self.settlement = Settlement(motion=Motion.WAITING)
        self._spread = 0.0
        self.unfit: frozenset[str] = frozenset()

    def feed(self, at_s: float, reading: Reading) -> Settlement:
        self.unfit = reading.unfit
        value = None if self.unfit else reading.value
        self._recent.feed(at_s, value)
        if self.unfit:
            self.settlement = self._detector.hold(at_s)
        else:
            self.settlement = self._detector.update(
                at_s, value, reading.state, resolution=reading.resolution, range_max=reading.range_max
            )
        self._spread = self.settlement.spread or self._spread
        return self.settlement

    def silent(self, at_s: float) -> bool:
        """Whether readings have ceased to come: a value from before is none of now."""
        return self._detector.look(at_s).reason is Reason.SILENT

    def latest(self) -> Settlement:
        """What settled, with the value of the last dwell alone: for what a hand has just let go of."""
        return self._detector.latest()

    @property
    def level(self) -> float | None:
        """Where the level is judged to be or to come to rest: for what is captured or decided."""
        return self.settlement.value

    @property
    def present(self) -> float | None:
        """Where the level is now: for the hand that turns, and for the eye."""
        return self._recent.level

    def soon(self, seconds: float) -> float | None:
        """Where the level will be then if the hand goes on as it does."""
        return self._recent.soon(seconds)

    @property
    def scatter(self) -> float:
        """Standard deviation of `present`, from the readings as last judged; 0 before."""
        return self._spread * self._recent.scatter

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
