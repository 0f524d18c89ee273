"""A window round a target, and what it tells the hand: how far, which way, how it sounds."""

from dataclasses import dataclass
from typing import Any

from meterlog.accuracy import Verdict, decide
from meterlog.procedure.view import Cue, Direction, Sound
from meterlog.quantity import Span

_PITCH_SPAN = 8.0  # windows away from the target at which the pitch stops changing


@dataclass(frozen=True, slots=True)
class Window:
    """Limits in the base unit; None does not limit. `span` is the tolerance that distances are told in."""

    target: float
    low: float | None
    high: float | None
    span: Span

    @classmethod
    def around(cls, target: float, span: Span) -> "Window":
        return cls(target, span.low(target), span.high(target), span)

    @classmethod
    def near_extremum(cls, level: float, span: Span, *, maximum: bool) -> "Window":
        """Within the tolerance of an extremum; beyond it would only be a better extremum."""
        return cls(level, span.low(level) if maximum else None, None if maximum else span.high(level), span)

    def contains(self, value: float) -> bool:
        return decide(value, self.low, self.high) is not Verdict.FAIL

    def limits(self) -> dict[str, Any]:
        """target, low and high as keywords of a capture or a guide."""
        return {"target": self.target, "low": self.low, "high": self.high}

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
        if self.contains(value):
            return Direction.HOLD
        return Direction.UP if value < self.target else Direction.DOWN

    def cue(self, value: float | None) -> Cue:
        """Steady inside; outside a pitch that tells the signed distance."""
        if value is None:
            return Cue()
        if self.contains(value):
            return Cue(Sound.INSIDE)
        reach = _PITCH_SPAN * self.span.half_width(self.target)
        return Cue(Sound.PITCH, max(-1.0, min(1.0, (value - self.target) / reach)))
