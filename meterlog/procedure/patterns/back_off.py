"""Pass an extremum and stop a stated distance beyond it, always coming from the extremum's side."""

from meterlog.detect import BackOff
from meterlog.procedure.model import BackOff as BackOffStep
from meterlog.procedure.patterns.base import Progress
from meterlog.procedure.patterns.peaked import AFRESH, Peaked, Phase
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Sound
from meterlog.reading import Reading


class BackingOff(Peaked):
    """Ends when the level is settled `fall` beyond the extremum, within `tolerance`.

    Coming back from too far would leave the backlash of the trimmer on the wrong side, so a level that
    has been beyond the window sends the hand back over the extremum. The level, not the position, of
    the extremum counts: position is uncertain by sqrt(step/fall) of the travel on a coarse display.
    """

    def __init__(self, step: BackOffStep) -> None:
        self._step = step
        super().__init__(step)

    def restart(self) -> None:
        super().restart()
        self._aimed: float | None = None  # the level of the extremum that the aim belongs to
        self._aim: Window | None = None
        self._fall: BackOff | None = None
        self._slow_down = False

    def reading(self, at_s: float, reading: Reading) -> Progress:
        level = self._search.feed(at_s, reading).level
        if not self._search.bracketed or level is None:
            self._lose_aim()
        elif level != self._aimed:
            self._take_aim(level)
        if self._fall is not None:
            self._follow(self._fall, at_s, reading)
        return self._settling(at_s, reading, self._window)

    @property
    def _window(self) -> Window | None:
        """None on the way back too: coming from too far nothing counts."""
        return self._aim if self._phase is Phase.FALL else None

    def _lose_aim(self) -> None:
        """Something beyond the extremum that was taken for it: the search goes on."""
        if self._aim is not None:
            self._aim, self._fall, self._aimed = None, None, None
            self._phase = Phase.SEEK
            self._hold.restart()

    def _take_aim(self, level: float) -> None:
        """The extremum is known (or a better one is): so is the target."""
        step = self._step
        self._aimed = level
        target = step.fall.low(level) if self._search.maximum else step.fall.high(level)
        self._aim = Window.around(target, step.tolerance)
        self._fall = BackOff(level, target, lag_s=step.lag)
        if self._phase is Phase.SEEK:
            self._phase = Phase.FALL

    def _follow(self, falling: BackOff, at_s: float, reading: Reading) -> None:
        if not reading.unfit:
            fall = falling.update(
                at_s, reading.value, reading.state, resolution=reading.resolution, range_max=reading.range_max
            )
            self._slow_down = fall.slow_down
            if fall.overshoot > self._step.tolerance.half_width(fall.target):
                self._phase = Phase.RETURN
                self._hold.restart()
        self._come_back()

    def _come_back(self) -> None:
        """Back at the extremum: the next fall counts."""
        level, present = self._search.peak.level, self._search.peak.present
        if self._phase is not Phase.RETURN or level is None or present is None:
            return
        if self._search.within_bracket(present):
            self._phase = Phase.FALL
            self._take_aim(level)
            self._hold.restart()

    def _cue(self, window: Window | None, present: float | None) -> Cue:
        if window is None:
            return self._search.cue
        if self._slow_down and present is not None and not window.contains(present):
            return Cue(Sound.SLOW_DOWN)
        return window.cue(present)

    def _words(self) -> str:
        step = self._step
        if self._phase is Phase.SEEK:
            at_end = f" Only one side of it is known. {AFRESH}" if self._search.peak.at_end else ""
            return f"Turn slowly through the {step.extremum} and on: {step.side}.{at_end}"
        if self._phase is Phase.RETURN:
            return f"Too far. Turn back over the {step.extremum}, then come again: {step.side}."
        if self._hold.progress is not None:
            return "There. Take the tool away."
        return f"On, slowly, until {step.fall} are lost: {step.side}."
