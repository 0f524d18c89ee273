"""What the two ways to match have in common: the window about the side that stays, captures, words."""

from dataclasses import dataclass
from typing import Any

from meterlog.detect import Settlement
from meterlog.procedure.events import Beside, Origin, Role
from meterlog.procedure.formulas import Input, computed, deviation, difference, input_now, quotient
from meterlog.procedure.model import Match
from meterlog.procedure.model.matching import Side
from meterlog.procedure.patterns.base import Capture
from meterlog.procedure.patterns.hold import Hold
from meterlog.procedure.patterns.ruling import Narrowing
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Direction


@dataclass(frozen=True, slots=True)
class Comparing:
    """`trims`: the side that moves is turned until it agrees; else both are only looked at."""

    step: Match
    trims: bool
    narrowing: Narrowing

    def window(self, stays: float | None) -> Window | None:
        """Where the moving side has to come; None as long as nobody knows."""
        if stays is None:
            return None
        make = Window.aimed_at if self.trims else Window.around
        return self.narrowing.of(make(stays, self.step.tolerance))

    def foresee(self, stays: float, origin: Origin | None, *before: Capture) -> None:
        """How sure the moving side is likely to be about one that stays at this level."""
        window, moving = Window.around(stays, self.step.tolerance), self.step.moving
        role = self.origin(moving).role
        self.narrowing.foresee(window, moving.channel, role, *before, condition=moving.name, about=origin)

    def agree(self, window: Window | None, *sides: Capture, pressed: bool = False) -> bool:
        """Whether the moving side, which comes last, may be let go where it was turned. The difference
        says the same on another scale."""
        return not self.trims or window is None or self.narrowing.lets_go(window, *sides, pressed=pressed)

    def done(self, hold: Hold) -> bool:
        """Whether the moving side can be taken: kept in the window, or just still where nobody trims."""
        return hold.kept if self.trims else hold.watch.settled

    def origin(self, side: Side) -> Beside:
        """What a side is kept as: the one that moves is trimmed, if anything is."""
        trimmed = self.trims and side == self.step.moving
        return Beside(side.name, Role.ADJUSTED if trimmed else Role.MEASURED)

    def side(
        self,
        side: Side,
        settlement: Settlement,
        window: Window | None = None,
        about: Origin | None = None,
    ) -> Capture:
        """What one side came to, beside the window that it had to come to, about the value of the other."""
        return Capture(
            role=self.origin(side).role,
            channel=side.channel,
            settlement=settlement,
            condition=side.name,
            about=about,
            **(window.limits() if window else {}),
        )

    def difference(self, moves: Settlement, stays: Input) -> Capture | None:
        """How far the moving side is from the other, on the scale of the tolerance; None where that is
        nothing that can be said: no dB lie between anything and nothing."""
        formula = {"dB": quotient, "%": deviation}.get(self.step.tolerance.kind, difference)
        moving = input_now(moves, stays.unit, self.origin(self.step.moving))
        result = computed(formula, moving, stays)
        if result is None:
            return None
        aim, span = self.step.aim.base, self.step.agreement
        return Capture(
            role=Role.DERIVED,
            channel="",
            unit=self.step.own_scale.unit,
            settlement=result.settlement,
            shares=result.shares,
            target=aim,
            low=span.low(aim),
            high=span.high(aim),
        )

    def told(self, window: Window | None, present: float | None) -> dict[str, Any]:
        """Window, distance and sound as keywords of a guide: about the side that stays, for the other."""
        if window is None:
            return {}
        cue = window.cue(present) if self.trims else Cue()
        return window.bounds() | window.distance(present) | {"cue": cue}

    def words(self, direction: Direction) -> str:
        """Which side to move, and which way."""
        if not self.trims:
            return "Hands off: measuring."
        if direction is Direction.HOLD:
            return "They agree. Take the tool away."
        if direction is Direction.NONE:
            return "Waiting for both readings."
        return f"Bring {self.step.move} {direction} with {self.step.trim}."
