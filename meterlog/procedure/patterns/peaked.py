"""What steps about an extremum share: the search, the hold at the end, the capture of both, the guidance."""

from enum import StrEnum

from meterlog.detect import Course, Extremum, Motion, Peak, Settlement
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.model import BackOff
from meterlog.procedure.model import Extremum as ExtremumStep
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.hold import Hold
from meterlog.procedure.patterns.watch import Stillness
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Direction, Guide, Sound
from meterlog.quantity import Span
from meterlog.reading import Reading

AFRESH = "Press to search afresh."
_TEMPO_BRACKETS = 4.0  # brackets away from the extremum at which the beeps are slowest


class Search:
    """The extremum seen so far, on one channel."""

    def __init__(self, kind: str, bracket: Span) -> None:
        self.maximum = kind == "maximum"
        self._bracket = bracket
        self._detector = Extremum("maximum" if self.maximum else "minimum", bracket.half_width)
        self.peak = Peak(course=Course.WAITING)

    def feed(self, at_s: float, reading: Reading) -> Peak:
        state, value = (reading.state, reading.value)
        if not reading.unfit:
            self.peak = self._detector.update(
                at_s, value, state, resolution=reading.resolution, range_max=reading.range_max
            )
        return self.peak

    @property
    def bracketed(self) -> bool:
        return self.peak.course is Course.BRACKETED

    def within_bracket(self, level: float) -> bool:
        """Whether `level` is nearer to the extremum than the distance that proves a side."""
        assert self.peak.level is not None
        return abs(level - self.peak.level) <= self._bracket.half_width(self.peak.level)

    @property
    def cue(self) -> Cue:
        """Faster the nearer."""
        if self.peak.level is None or self.peak.departure is None:
            return Cue()
        reach = _TEMPO_BRACKETS * self._bracket.half_width(self.peak.level)
        return Cue(Sound.TEMPO, max(0.0, 1.0 - self.peak.departure / reach) if reach else 1.0)

    def capture(self, channel: str) -> Capture:
        """The extremum itself as a settled value; its uncertainty is the detector's."""
        peak = self.peak
        assert peak.level is not None
        settlement = Settlement(
            motion=Motion.SETTLED,
            value=peak.level,
            standard_uncertainty=peak.standard_uncertainty,
            since_s=peak.at_s,
            readings=1,
        )
        return Capture(role=Role.PEAK, channel=channel, settlement=settlement)


class Phase(StrEnum):
    SEEK = "seek"  # through the extremum and out on the other side
    FALL = "fall"  # beyond it, on to the target of a back-off
    RETURN = "return"  # back to the extremum


class Peaked(Pattern):
    """`window` is where the level has to settle; None as long as nobody knows where that is."""

    def __init__(self, step: ExtremumStep | BackOff) -> None:
        self.channel = step.channel
        self._peaked = step
        self._hold = Hold(Stillness(step.settle_within, step.dwell, step.lag), step.hold)
        self.restart()

    def restart(self) -> None:
        self._search = Search(self._peaked.extremum, self._peaked.bracket)
        self._phase = Phase.SEEK
        self._hold.restart()

    @property
    def _window(self) -> Window | None:
        raise NotImplementedError

    def _words(self) -> str:
        raise NotImplementedError

    def go_on(self, at_s: float) -> Progress:
        """While seeking: search afresh, for what was highest may have been the jump of the setup."""
        if self._phase is Phase.SEEK:
            self.restart()
            return NOTHING
        window = self._window
        if window is None or not self._hold.ready(at_s, window):
            raise IllegalAction("not settled where it should be; to leave the step, skip it with a reason")
        return self._captured(window)

    def _settling(self, at_s: float, reading: Reading, window: Window | None) -> Progress:
        """Follow the level; capture it once it has stayed in the window for the hold."""
        if window is None:
            return Progress(self._hold.watch.feed(at_s, reading).motion)
        self._hold.feed(at_s, reading, window)
        return self._captured(window) if self._hold.kept else Progress(self._hold.watch.settlement.motion)

    def _captured(self, window: Window) -> Progress:
        settlement = self._hold.watch.settlement
        kept = Capture(role=Role.ADJUSTED, channel=self.channel, settlement=settlement, **window.limits())
        captures = (self._search.capture(self.channel), kept)
        return Progress(settlement.motion, captures, finished=True, verdict=kept.verdict)

    def guide(self) -> Guide:
        window, present = self._window, self._search.peak.present
        keywords = {} if window is None else window.limits() | window.distance(present)
        direction = keywords.pop("direction", Direction.NONE)
        return Guide(
            do_now=self._words(),
            channel=self.channel,
            present=present,
            progress=self._hold.progress,
            phase=self._phase,
            why_not="" if window is None else self._hold.watch.why_not,
            cue=self._cue(window, present),
            direction=direction,
            **keywords,
        )

    def _cue(self, window: Window | None, present: float | None) -> Cue:
        """Tempo towards an extremum, whatever the window; steady inside it."""
        inside = window is not None and present is not None and window.contains(present)
        return Cue(Sound.INSIDE) if inside else self._search.cue
