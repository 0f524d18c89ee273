"""Pass an extremum and stop a stated distance beyond it, always coming from the extremum's side."""

from typing import Any

from meterlog.detect import BackOff
from meterlog.procedure.model import BackOff as BackOffStep
from meterlog.procedure.model import StopBackOff
from meterlog.procedure.patterns.approach import Approach
from meterlog.procedure.patterns.base import Progress
from meterlog.procedure.patterns.peaked import AFRESH, Peaked, Phase
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.patterns.watch import HAND_S
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Sound
from meterlog.reading import Reading

_ABOVE = 2.0  # tolerances towards the extremum that the level must have been, to come again
_SLOWING_S = 2.0 * HAND_S  # the hand slows down first, then it is told to stop
_AGREEING = 2  # readings; nothing is decided on one


class BackingOff(Peaked):
    """Ends when the level is settled `fall` beyond the extremum, within `tolerance`, and came from there.

    Coming back from too far would leave the backlash of the trimmer on the wrong side, so the hand is sent
    back until the level is clearly on the extremum's side of the window, and comes again. The level of the
    extremum counts, not its position: that is uncertain by sqrt(step/fall) of the travel on a coarse display.
    """

    def __init__(self, step: BackOffStep | StopBackOff, ruling: Ruling) -> None:
        self._step = step
        super().__init__(step, ruling)

    def restart(self) -> None:
        super().restart()
        self._aimed: float | None = None  # the level of the extremum that the aim belongs to
        self._aim: Window | None = None
        self._fall: BackOff | None = None
        self._back: Window | None = None  # where to go back to before coming again
        self._slow_down = False

    def reading(self, at_s: float, reading: Reading) -> Progress:
        level = self._search.feed(at_s, reading).level
        if not self._search.bracketed or level is None:
            self._lose_aim()
        elif level != self._aimed:
            self._take_aim(level)
        if self._fall is not None and not reading.unfit:
            fall = self._fall.update(
                at_s, reading.value, reading.state, resolution=reading.resolution, range_max=reading.range_max
            )
            self._slow_down = fall.slow_down
        return self._settling(at_s, reading)

    @property
    def _window(self) -> Window | None:
        """None on the way back: coming from too far nothing counts."""
        return self._narrowing.of(self._aim) if self._aim and self._phase is Phase.FALL else None

    def _lose_aim(self) -> None:
        """Something beyond the extremum that was taken for it: the search goes on."""
        if self._aim is not None:
            self._aim, self._fall, self._aimed = None, None, None
            self._phase = Phase.SEEK
            self._hold.restart()

    def _take_aim(self, level: float) -> None:
        """The extremum is known (or a better one is): so is the target."""
        self._aimed = level
        self._aim = aim = self._aim_at(level)
        self._foresee(aim)
        self._fall = BackOff(level, aim.target, reaction_s=_SLOWING_S, lag_s=self._step.lag)
        tolerance, target = aim.span.half_width(aim.target), self._signed(aim.target)
        above = min(target + _ABOVE * tolerance, self._signed(self._search.bracket_edge))
        self._approach = Approach(above, target - tolerance, tolerance)
        self._back = Window.around(self._signed(above + tolerance), aim.span)
        if self._phase is Phase.SEEK:
            self._phase = Phase.FALL

    def _aim_at(self, level: float) -> Window:
        step = self._step
        target = step.fall.low(level) if self._search.maximum else step.fall.high(level)
        return Window.one_way(target, step.tolerance, downwards=self._search.maximum)

    def _signed(self, level: float) -> float:
        return level if self._search.maximum else -level

    def _look_back(self) -> None:
        if self._aim is None:
            return
        watch = self._hold.watch
        if watch.settled and watch.level is not None:
            self._approach.see(self._signed(watch.level))
        elif watch.present is not None and watch.agreeing >= _AGREEING:
            self._approach.see(self._signed(watch.present), watch.scatter)
        self._phase = Phase.FALL if self._approach.sound else Phase.RETURN

    @property
    def _heading(self) -> Window | None:
        """Where the hand should go now, None towards the extremum."""
        if self._phase is not Phase.SEEK:
            return self._back if self._phase is Phase.RETURN or self._a_little_too_far else self._aim
        return self._aim_at(self._search.likely_level) if self._search.likely_level is not None else None

    @property
    def _a_little_too_far(self) -> bool:
        """Who is told to go back is told the whole way at once."""
        aim, present = self._aim, self._hold.watch.present
        if aim is None or present is None or aim.lets_go(present):
            return False
        return self._signed(present) < self._signed(aim.target)

    def _cue(self, window: Window | None, present: float | None) -> Cue:
        """The pitch tells how far the level is from where to go, on the way back too."""
        aim = self._heading
        if aim is None or present is None:
            return self._search.cue
        soon = self._hold.watch.soon(HAND_S)
        if self._hold.closing:
            return Cue(Sound.INSIDE)
        if window is not None and (window.lets_go(present) or window.comes_to(present, soon)):
            return Cue(Sound.INSIDE)
        return Cue(Sound.SLOW_DOWN if self._slow_down else Sound.PITCH, aim.pitch(present))

    def _where_to(self, present: float | None) -> dict[str, Any]:
        """Limits only where the level may stay."""
        aim, window = self._heading, self._window
        if aim is None:
            return {}
        return ({"target": aim.target} if window is None else window.bounds()) | aim.distance(present)

    def _words(self) -> str:
        step = self._step
        if self._phase is Phase.SEEK:
            return self._seeking_words()
        if self._phase is Phase.RETURN:
            return f"Too far. Turn back until it lies well short of its place, then come again: {step.side}."
        present = self._hold.watch.present
        return self._falling_words(self._aim, present) if self._aim and present is not None else "Hold still."

    def _seeking_words(self) -> str:
        step = self._step
        if self._search.likely_level is not None:
            return f"The {step.extremum} seems to be passed. On, slowly: {step.side}."
        at_end = f" Only one side of it is known. {AFRESH}" if self._search.peak.at_end else ""
        return f"Turn slowly through the {step.extremum} and on: {step.side}.{at_end}"

    def _falling_words(self, aim: Window, present: float) -> str:
        if aim.lets_go(present):
            return "There. Take the tool away."
        if not self._a_little_too_far:
            return f"On, slowly, until {self._step.fall} are lost: {self._step.side}."
        left = "Accepted if left so; or turn" if aim.contains(present) else "Turn"
        return f"A little too far. {left} back until it lies well short of its place, and come again."
