"""Pass an extremum and stop a stated distance beyond it, always coming from the extremum's side."""

from enum import StrEnum

from meterlog.detect import BackOff
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.model import BackOff as BackOffStep
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.extremum import AFRESH, Search
from meterlog.procedure.patterns.hold import Hold
from meterlog.procedure.patterns.watch import Stillness
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Direction, Guide, Sound
from meterlog.reading import Reading


class Phase(StrEnum):
    SEEK = "seek"  # to the extremum and past it
    FALL = "fall"  # on to the target
    RETURN = "return"  # gone too far: back to the extremum, then again


class BackingOff(Pattern):
    """Ends when the level is settled `fall` beyond the extremum, within `tolerance`.

    Coming back from too far would leave the backlash of the trimmer on the wrong side, so a level that
    has been beyond the window sends the hand back over the extremum. The level, not the position, of
    the extremum counts: position is uncertain by sqrt(step/fall) of the travel on a coarse display.
    """

    def __init__(self, step: BackOffStep) -> None:
        self.channel = step.channel
        self._step = step
        self._hold = Hold(Stillness(step.settle_within, step.dwell, step.lag), step.hold)
        self.restart()

    def restart(self) -> None:
        self._search = Search(self._step.extremum, self._step.bracket)
        self._phase = Phase.SEEK
        self._window: Window | None = None
        self._fall: BackOff | None = None
        self._aimed: float | None = None  # the level of the extremum that the window belongs to
        self._slow_down = False
        self._hold.restart()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        level = self._search.feed(at_s, reading).level
        if not self._search.bracketed or level is None:
            self._lose_aim()
        elif level != self._aimed:
            self._aim(level)
        if self._window is None:
            return Progress(self._hold.watch.feed(at_s, reading).motion)
        self._hold.feed(at_s, reading, self._window)
        self._follow(at_s, reading)
        done = self._phase is Phase.FALL and self._hold.kept
        return self._captured(self._window) if done else Progress(self._hold.watch.settlement.motion)

    def _lose_aim(self) -> None:
        """Something beyond the extremum that was taken for it: the search goes on."""
        if self._window is not None:
            self._window, self._fall, self._aimed = None, None, None
            self._phase = Phase.SEEK
            self._hold.restart()

    def _aim(self, level: float) -> None:
        """The extremum is known (or a better one is): so is the target."""
        step = self._step
        self._aimed = level
        target = step.fall.low(level) if self._search.maximum else step.fall.high(level)
        self._window = Window.around(target, step.tolerance)
        self._fall = BackOff(level, target, lag_s=step.lag)
        if self._phase is Phase.SEEK:
            self._phase = Phase.FALL

    def _follow(self, at_s: float, reading: Reading) -> None:
        assert self._fall is not None
        if not reading.unfit:
            fall = self._fall.update(
                at_s, reading.value, reading.state, resolution=reading.resolution, range_max=reading.range_max
            )
            self._slow_down = fall.slow_down
            if fall.overshoot > self._step.tolerance.half_width(fall.target):
                self._phase = Phase.RETURN
        level, present = self._search.peak.level, self._search.peak.present
        if level is None or present is None or not self._search.within_bracket(present):
            return
        if self._phase is Phase.RETURN:
            self._phase = Phase.FALL
            self._aim(level)
            self._hold.restart()

    def go_on(self, at_s: float) -> Progress:
        """While seeking: search afresh, as for an extremum."""
        window = self._window
        if self._phase is Phase.SEEK:
            self.restart()
            return NOTHING
        if window is None or self._phase is not Phase.FALL or not self._hold.ready(at_s, window):
            raise IllegalAction(f"not settled {self._step.fall} beyond the {self._step.extremum} yet")
        return self._captured(window)

    def _captured(self, window: Window) -> Progress:
        settlement = self._hold.watch.settlement
        kept = Capture(role=Role.ADJUSTED, channel=self.channel, settlement=settlement, **window.limits())
        captures = (self._search.capture(self.channel), kept)
        return Progress(settlement.motion, captures, finished=True, verdict=kept.verdict)

    def guide(self) -> Guide:
        watch = self._hold.watch
        window = self._window if self._phase is Phase.FALL else None
        present = self._search.peak.present
        keywords = {} if window is None else window.limits() | window.distance(present)
        direction = keywords.pop("direction", Direction.NONE)
        return Guide(
            do_now=self._words(),
            channel=self.channel,
            present=present,
            progress=self._hold.progress,
            phase=self._phase,
            why_not="" if window is None else watch.why_not,
            cue=self._cue(window, present),
            direction=direction,
            **keywords,
        )

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
