"""A reading that a person takes and types in."""

import math
from typing import Any

from meterlog.accuracy import of_bounds
from meterlog.detect import Motion, Settlement
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.model import Manual
from meterlog.procedure.patterns.base import Capture, Pattern, Progress
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Direction, Guide
from meterlog.quantity import QuantityError, Unit, parse_entry

_MOST = {Unit.OHM: 1e18, Unit.HERTZ: 1e15}
_MOST_ELSE = 1e9
"""In the base unit; far beyond what anything on a bench shows."""


@pattern_for.register
def _(step: Manual, moment: Moment) -> Pattern:
    return Entering(step, moment.ruling, trims=bool(step.trim) and not moment.looking)


class Entering(Pattern):
    """`trims`: a reading that does not pass asks for the trimmer and for another reading."""

    def __init__(self, step: Manual, ruling: Ruling, *, trims: bool) -> None:
        self._step = step
        self._ruling = ruling
        self._trims = trims
        self._window = Window.around(step.aim.base, step.tolerance) if step.tolerance else None
        self._round = 1
        self._last: float | None = None

    def restart(self) -> None:
        """What was typed before may have changed; the next reading is the first again."""
        self._round, self._last = 1, None

    @property
    def _wanted(self) -> str:
        scale = self._step.show
        return f"reading in {scale.symbol}{scale.bracket}" if scale.symbol else "reading"

    def entered(self, at_s: float, text: str) -> Progress:
        try:
            value = parse_entry(text, self._step.show).base
        except QuantityError as error:
            raise IllegalAction(str(error)) from error
        if abs(value) > _MOST.get(self._step.show.unit, _MOST_ELSE):
            raise IllegalAction(f"{text!r} is beyond every meter; look at the number and its unit again")
        capture = self._capture(value, at_s)
        if self._window:
            self._window = self._window.narrowed(self._ruling.guard_band(capture))
        if self._trims and not self._ruling.passes(capture):
            self._round, self._last = self._round + 1, value
            return Progress(captures=(capture,))
        return Progress(captures=(capture,), finished=True, verdict=capture.verdict)

    def _capture(self, value: float, at_s: float) -> Capture:
        return Capture(
            role=Role.ENTERED,
            channel="",
            unit=self._step.show.unit,
            settlement=self._settlement(value, at_s),
            round=self._round,
            **self._limits(),
        )

    def _settlement(self, value: float, at_s: float) -> Settlement:
        """The stated uncertainty is taken as bounds, since that is what a reader of a pointer can say: "no
        further off than this". JCGM 100:2008, 4.3.7 makes a standard uncertainty of them. (Where a document
        states an expanded uncertainty it would be divided by its coverage factor: 4.3.3.)
        """
        return Settlement(
            motion=Motion.SETTLED,
            value=value,
            standard_uncertainty=of_bounds(self._step.uncertainty.half_width(value)),
            degrees_of_freedom=math.inf,
            since_s=at_s,
            readings=1,
        )

    def _limits(self) -> dict[str, Any]:
        return self._window.limits() if self._window else {}

    def _bounds(self) -> dict[str, Any]:
        return self._window.bounds() if self._window else {}

    def go_on(self, at_s: float) -> Progress:
        raise IllegalAction(f"type the {self._wanted}; the pedal alone says no number")

    def guide(self) -> Guide:
        distance = self._window.distance(self._last) if self._window else {}
        return Guide(
            do_now=self._words(distance.get("direction", Direction.NONE)),
            present=self._last,
            asks_for=self._wanted,
            round=self._round if self._trims else 0,
            **self._bounds(),
            **distance,
        )

    def _words(self, direction: Direction) -> str:
        if direction is Direction.NONE:
            return f"Read it, then type the {self._wanted}."
        return f"Bring it {direction} with {self._step.trim}. Tool away, then type the {self._wanted}."
