"""A window round a target, and what it tells the hand: how far, which way, how it sounds."""

import math
from dataclasses import dataclass, replace
from typing import Any

from meterlog.accuracy import Verdict, decide
from meterlog.procedure.view import Cue, Direction, Sound
from meterlog.quantity import Span

INNER = 0.5
"""Share of the way from the target to a limit in which the hand is told to let go, so as not to stop at the
edge. What is inside the limits is accepted all the same."""

FAR_INNER = 0.6
"""The same beyond a target that is only to be come to from one side: to go back means to come again."""

PITCH_SPAN = 20.0
"""Tolerances away from the target at which the pitch stops changing."""

AHEAD = 3.0
"""Tolerances before the target at which a moving hand may be told to let go, at the earliest."""

FINE = 6.0
"""Tolerances up to which the pitch goes about evenly with the distance, beyond with its logarithm: steep
where the ear decides, and still telling far away."""


def _inner(target: float, limit: float, share: float) -> float:
    return target + share * (limit - target)


@dataclass(frozen=True, slots=True)
class Window:
    """Limits in the base unit; None does not limit. `span` is the tolerance that distances are told in.

    let_go_low, let_go_high    where the hand is told to let go
    guard_band                 so far inside the limits a level has to lie
    nothing_left               the guard band is so wide that not even the target would pass: the limits guide
    """

    target: float
    low: float | None
    high: float | None
    span: Span
    let_go_low: float
    let_go_high: float
    guard_band: float = 0.0
    nothing_left: bool = False

    @classmethod
    def around(cls, target: float, span: Span) -> "Window":
        """Where nobody turns anything: what is inside need not be touched."""
        low, high = span.low(target), span.high(target)
        return cls(target, low, high, span, low, high)

    @classmethod
    def aimed_at(cls, target: float, span: Span, inner: float | None = None) -> "Window":
        """Where a hand turns; `inner`: where it is told to let go, if not in `INNER`."""
        share = INNER if inner is None else inner
        low, high = span.low(target), span.high(target)
        return cls(target, low, high, span, _inner(target, low, share), _inner(target, high, share))

    @classmethod
    def one_way(cls, target: float, span: Span, *, downwards: bool) -> "Window":
        """Where a hand turns that has to come from above, or else from below."""
        low, high = span.low(target), span.high(target)
        low_share, high_share = (FAR_INNER, INNER) if downwards else (INNER, FAR_INNER)
        return cls(target, low, high, span, _inner(target, low, low_share), _inner(target, high, high_share))

    @classmethod
    def near_extremum(cls, level: float, span: Span, *, maximum: bool) -> "Window":
        """Within the tolerance of an extremum; beyond it would only be a better extremum."""
        if maximum:
            return cls(level, span.low(level), None, span, span.low(level), math.inf)
        return cls(level, None, span.high(level), span, -math.inf, span.high(level))

    def narrowed(self, width: float) -> "Window":
        """By a guard band inside each limit; never widened, for a hand has no business outside."""
        nothing_left = decide(self.target, self.low, self.high, width) is Verdict.FAIL
        guard_band = 0.0 if nothing_left else max(0.0, width)
        if (guard_band, nothing_left) == (self.guard_band, self.nothing_left):
            return self
        return replace(self, guard_band=guard_band, nothing_left=nothing_left)

    def contains(self, value: float) -> bool:
        return decide(value, self.low, self.high, self.guard_band) is not Verdict.FAIL

    def is_short(self, value: float) -> bool:
        """Inside the limits, but within the guard band."""
        return not self.contains(value) and decide(value, self.low, self.high) is not Verdict.FAIL

    def limits(self) -> dict[str, Any]:
        """target, low and high as keywords of a capture."""
        return {"target": self.target, "low": self.low, "high": self.high}

    def bounds(self) -> dict[str, Any]:
        """The same as keywords of a guide, and what is accepted where that is less."""
        told = self.limits() | {"nothing_left": self.nothing_left}
        return told | self._accepted() if self.guard_band else told

    def _accepted(self) -> dict[str, Any]:
        return {
            "accept_low": None if self.low is None else self.low + self.guard_band,
            "accept_high": None if self.high is None else self.high - self.guard_band,
        }

    def distance(self, value: float | None) -> dict[str, Any]:
        """distance, its unit and the direction to go, as keywords of a guide."""
        if value is None:
            return {}
        return {
            "distance": self.span.deviation(value, self.target),
            "distance_unit": self.span.shown_unit,
            "direction": self.direction(value),
        }

    def direction(self, value: float) -> Direction:
        if self.lets_go(value):
            return Direction.HOLD
        return Direction.UP if value < self.target else Direction.DOWN

    def room(self, value: float) -> float:
        """From a value inside to the nearer end of what is accepted; 0 outside."""
        sides = [value - self.low if self.low is not None else math.inf]
        sides.append(self.high - value if self.high is not None else math.inf)
        return max(0.0, min(sides) - self.guard_band)

    def lets_go(self, value: float) -> bool:
        """Near enough to the middle: nothing is won by turning further."""
        low, high = self._let_go(self.low, self.let_go_low), self._let_go(self.high, self.let_go_high)
        return self.contains(value) and low <= value <= high

    def _let_go(self, limit: float | None, at: float) -> float:
        """Moved inwards as the end of what is accepted is."""
        if limit is None or not self.guard_band:
            return at
        return at + (self.target - at) * self.guard_band / abs(limit - self.target)

    def cue(self, value: float | None, soon: float | None = None) -> Cue:
        """A pitch that tells the signed distance, up to near the middle; there a chime. `soon`: where the
        level will be by the time the hand stops; the chime has to come before it is beyond the target."""
        if value is None:
            return Cue()
        if self.lets_go(value) or self.comes_to(value, soon):
            return Cue(Sound.INSIDE)
        return Cue(Sound.PITCH, self.pitch(value))

    def comes_to(self, value: float, soon: float | None) -> bool:
        """Whether the target lies between a level, not far from it, and where it will be."""
        if soon is None or abs(value - self.target) > AHEAD * self.span.half_width(self.target):
            return False
        return (value - self.target) * (soon - self.target) <= 0.0

    def pitch(self, value: float) -> float:
        """-1..1, where on the whole range of the pitch a level sounds."""
        tolerance = self.span.half_width(self.target)
        away = (
            (value - self.target) / tolerance if tolerance else math.copysign(PITCH_SPAN, value - self.target)
        )
        return max(-1.0, min(1.0, math.asinh(away / FINE) / math.asinh(PITCH_SPAN / FINE)))
