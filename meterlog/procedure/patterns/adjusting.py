"""Bringing a level into a window and letting go: adjust and set-source."""

from dataclasses import replace

from meterlog.detect import Tolerance
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.patterns.base import Capture, Pattern, Progress
from meterlog.procedure.patterns.hold import Hold
from meterlog.procedure.patterns.ruling import Narrowing
from meterlog.procedure.patterns.stuck import Stuck
from meterlog.procedure.patterns.watch import HAND_S, Stillness
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Direction, Guide, Sound
from meterlog.reading import Reading

_WORDS = {
    Direction.UP: "Bring the level up.",
    Direction.DOWN: "Bring the level down.",
    Direction.HOLD: "Inside. Take the tool away.",
    Direction.NONE: "Waiting for a reading.",
}
_NO_FURTHER = "It has not moved for {:.0f} s: a trimmer at its end, a loose probe? If that is all, press."
_SHORT = "Inside the limits, but not by as much as it is uncertain: a little {}."
_UNSURE = (
    "Inside, but too unsteady to tell whether it passes. Hold still, or press to have it judged as it is."
)
_BETTER = "Inside, and accepted if left so; a little {} would be better."


class Adjusting(Pattern):
    """Ends by itself when the value is settled inside the window and stays for the hold time."""

    def __init__(
        self,
        channel: str,
        role: Role,
        stillness: Stillness,
        window: Window,
        hold_s: float,
        *,
        about: str = "",
        tolerance: Tolerance | None = None,
        narrowing: Narrowing,
    ) -> None:
        """`tolerance` as of `Watch`: how well the level must be known, if not as `stillness` says."""
        self._narrowing = narrowing
        self.channel = channel
        self._role = role
        self._about = about
        self._limits = window
        self._hold = Hold(stillness, hold_s, tolerance)
        self._span = stillness.span
        self.restart()

    def restart(self) -> None:
        self._hold.restart()
        self._stuck = Stuck()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        self._hold.feed(at_s, reading, self._window)
        present = self._hold.watch.present
        self._stuck.feed(at_s, present, self._span.half_width(present or 0.0))
        return self._captured() if self._hold.kept else Progress(self._hold.watch.settlement.motion)

    def go_on(self, at_s: float) -> Progress:
        """Ends the hold early. A value outside the window is never taken by a slip of the foot, but where it
        has not moved for long the pedal says that it goes no further: then the rule judges it as it is."""
        if self._hold.ready(at_s, self._window):
            return self._captured(pressed=True)
        if self._goes_no_further and not self._hold.watch.silent(at_s):
            return replace(self._taken(self._capture()), reason=f"goes no further: {self._short_by()}")
        raise IllegalAction("not settled inside the window yet; to leave the step, skip it with a reason")

    @property
    def _goes_no_further(self) -> bool:
        watch = self._hold.watch
        outside = watch.level is not None and not self._window.contains(watch.level)
        return bool(self._stuck) and watch.settled and outside

    def _short_by(self) -> str:
        away = self._window.span.deviation(self._hold.settlement.value or 0.0, self._window.target)
        return f"{away:+.3g} {self._window.span.shown_unit} from the target"

    @property
    def _window(self) -> Window:
        """Where the level has to come to pass."""
        return self._narrowing.of(self._limits)

    def _captured(self, *, pressed: bool = False) -> Progress:
        """Unless it is too unsure to pass where it is."""
        capture = self._capture()
        if self._narrowing.lets_go(self._limits, capture, pressed=pressed):
            return self._taken(capture)
        self._hold.refused(unsure=self._narrowing.unsure)
        return Progress(capture.settlement.motion)

    def _capture(self) -> Capture:
        return Capture(
            role=self._role,
            channel=self.channel,
            settlement=self._hold.settlement,
            **self._limits.limits(),
        )

    def _taken(self, capture: Capture) -> Progress:
        return Progress(capture.settlement.motion, (capture,), finished=True, verdict=capture.verdict)

    def guide(self) -> Guide:
        watch = self._hold.watch
        return Guide(
            do_now=f"{self._about}{self._words(watch.present)}",
            awaiting_go_on=self._goes_no_further,
            channel=self.channel,
            present=watch.present,
            progress=self._hold.progress,
            why_not=watch.why_not,
            cue=self._cue(),
            **self._window.bounds(),
            **self._window.distance(watch.present),
        )

    def _cue(self) -> Cue:
        watch = self._hold.watch
        if self._hold.closing:
            return Cue(Sound.INSIDE)
        return self._window.cue(watch.present, watch.soon(HAND_S))

    def _words(self, present: float | None) -> str:
        if present is None:
            return _WORDS[Direction.NONE]
        if self._goes_no_further:
            return f"{_NO_FURTHER.format(self._stuck.for_s)} {_WORDS[self._window.direction(present)]}"
        if self._narrowing.unsure and self._window.contains(present):
            return _UNSURE
        direction = Direction.HOLD if self._hold.closing else self._window.direction(present)
        if direction is not Direction.HOLD and self._window.contains(present):
            return _BETTER.format(direction)
        if self._window.is_short(present):
            return _SHORT.format(direction)
        return _WORDS[direction]
