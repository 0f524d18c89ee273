"""Find a maximum or minimum from both sides, then return to it and stay."""

from enum import StrEnum

from meterlog.detect import Course, Extremum, Motion, Peak, Settlement
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
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
    SEEK = "seek"
    RETURN = "return"


class SeekingExtremum(Pattern):
    """Through the extremum and out on the other side; then back to within the tolerance of it."""

    def __init__(self, step: ExtremumStep) -> None:
        self.channel = step.channel
        self._step = step
        self._hold = Hold(Stillness(step.settle_within, step.dwell, step.lag), step.hold)
        self.restart()

    def restart(self) -> None:
        self._search = Search(self._step.extremum, self._step.bracket)
        self._phase = Phase.SEEK
        self._hold.restart()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        self._search.feed(at_s, reading)
        self._follow_search()
        window = self._window
        if window is None or self._phase is Phase.SEEK:
            settlement = self._hold.watch.feed(at_s, reading)
            return Progress(settlement.motion)
        self._hold.feed(at_s, reading, window)
        return self._captured(window) if self._hold.kept else Progress(self._hold.watch.settlement.motion)

    def _follow_search(self) -> None:
        """Something higher than a bracketed extremum takes the bracket back: that was a side peak."""
        phase = Phase.RETURN if self._search.bracketed else Phase.SEEK
        if phase is not self._phase:
            self._phase = phase
            self._hold.restart()

    @property
    def _window(self) -> Window | None:
        level = self._search.peak.level
        if level is None:
            return None
        return Window.near_extremum(level, self._step.tolerance, maximum=self._search.maximum)

    def go_on(self, at_s: float) -> Progress:
        """While seeking: search afresh, for what was highest may have been the jump of the setup."""
        window = self._window
        if self._phase is Phase.SEEK:
            self.restart()
            return NOTHING
        if window is None or not self._hold.ready(at_s, window):
            raise IllegalAction(f"the {self._step.extremum} is not returned to yet")
        return self._captured(window)

    def _captured(self, window: Window) -> Progress:
        settlement = self._hold.watch.settlement
        kept = Capture(role=Role.ADJUSTED, channel=self.channel, settlement=settlement, **window.limits())
        captures = (self._search.capture(self.channel), kept)
        return Progress(settlement.motion, captures, finished=True, verdict=kept.verdict)

    def guide(self) -> Guide:
        seeking = self._phase is Phase.SEEK
        watch = self._hold.watch
        window = self._window
        present = self._search.peak.present if seeking else watch.present
        limits = {} if window is None or seeking else window.limits() | window.distance(present)
        direction = limits.pop("direction", Direction.NONE)
        return Guide(
            do_now=self._words(),
            channel=self.channel,
            present=present,
            progress=self._hold.progress,
            phase=self._phase,
            why_not="" if seeking else watch.why_not,
            cue=self._search.cue if seeking or window is None else self._return_cue(window),
            direction=direction,
            **limits,
        )

    def _return_cue(self, window: Window) -> Cue:
        present = self._hold.watch.present
        inside = present is not None and window.contains(present)
        return Cue(Sound.INSIDE) if inside else self._search.cue

    def _words(self) -> str:
        extremum = self._step.extremum
        if self._phase is Phase.RETURN:
            return f"Turn back to the {extremum} and let go."
        if self._search.peak.at_end:
            return f"Only one side of the {extremum} is known: turn back through it and beyond. {AFRESH}"
        return f"Turn slowly through the {extremum} and out on the other side."
