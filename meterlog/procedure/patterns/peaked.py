"""What steps about an extremum share: the search, the hold at the end, the capture of both, the guidance."""

import math
from enum import StrEnum
from typing import Any

from meterlog.detect import Course, Extremum, Motion, Peak, Settlement
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Beside, Role
from meterlog.procedure.model import BackOff, StopBackOff
from meterlog.procedure.model import Extremum as ExtremumStep
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.hold import Hold
from meterlog.procedure.patterns.ruling import Narrowing, Ruling
from meterlog.procedure.patterns.watch import Stillness
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Guide, Sound
from meterlog.quantity import Span
from meterlog.reading import Reading

FREE = (
    "Settled. Did the control turn on beyond this place both ways, without coming to its end? Then press. "
    "If it stands at its end, skip the step and say so."
)
AFRESH = "Press to search afresh."
_LIKELY = 1.0 / 3.0  # of the bracket: so far down the other side it is worth saying where to go
_CERTAIN = 4.0  # standard uncertainties of the extremum's level that this must be beyond
_TEMPO_BRACKETS = 4.0  # brackets away from the extremum at which the beeps are slowest


class Search:
    """The extremum seen so far, on one channel."""

    def __init__(self, kind: str, bracket: Span) -> None:
        self.maximum = kind == "maximum"
        self._bracket = bracket
        self._detector = Extremum("maximum" if self.maximum else "minimum", bracket.half_width)
        self.peak = Peak(course=Course.WAITING)
        self._lowest = math.inf
        self._read_on: tuple[float, float | None] = (
            0.0,
            None,
        )  # count and range of the reading that showed it last

    def feed(self, at_s: float, reading: Reading) -> Peak:
        state, value = (reading.state, reading.value)
        if not reading.unfit:
            before = self.peak.level
            self.peak = self._detector.update(
                at_s, value, state, resolution=reading.resolution, range_max=reading.range_max
            )
            if self.peak.level != before:
                self._read_on = (reading.resolution, reading.range_max)
        if self.peak.present is not None:
            self._lowest = min(self._lowest, self._signed(self.peak.present))
        return self.peak

    def _signed(self, level: float) -> float:
        return level if self.maximum else -level

    @property
    def likely_level(self) -> float | None:
        """Of an extremum risen to and left again a little: no proof, but where to go can be told."""
        peak = self.peak
        if peak.course is not Course.APPROACHING or peak.level is None or peak.departure is None:
            return None
        bracket = self._bracket.half_width(peak.level)
        risen = self._signed(peak.level) - self._lowest >= bracket
        left = peak.departure > max(_LIKELY * bracket, _CERTAIN * (peak.standard_uncertainty or 0.0))
        return peak.level if risen and left else None

    @property
    def bracketed(self) -> bool:
        return self.peak.course is Course.BRACKETED

    @property
    def bracket_edge(self) -> float:
        """The level that is as far from the extremum as proves a side."""
        assert self.peak.level is not None
        bracket = self._bracket.half_width(self.peak.level)
        return self.peak.level - bracket if self.maximum else self.peak.level + bracket

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
        resolution, range_max = self._read_on
        settlement = Settlement(
            motion=Motion.SETTLED,
            value=peak.level,
            standard_uncertainty=peak.standard_uncertainty,
            degrees_of_freedom=peak.degrees_of_freedom,
            since_s=peak.at_s,
            readings=1,
            resolution=resolution,
            range_max=range_max,
        )
        return Capture(role=Role.PEAK, channel=channel, settlement=settlement)


class Phase(StrEnum):
    SEEK = "seek"  # through the extremum and out on the other side
    FALL = "fall"  # beyond it, on to the target of a back-off
    RETURN = "return"  # back to the extremum, or far enough towards it to come again


class Peaked(Pattern):
    """`window` is where the level has to settle; None as long as nobody knows where that is."""

    def __init__(self, step: ExtremumStep | BackOff | StopBackOff, ruling: Ruling) -> None:
        self.channel = step.channel
        self._peaked = step
        self._narrowing = Narrowing(ruling)
        self._hold = Hold(Stillness(step.settle_within, step.dwell, step.lag), step.hold)
        self.restart()

    def restart(self) -> None:
        self._search = self._new_search()
        self._phase = Phase.SEEK
        self._hold.restart()

    def _new_search(self) -> Search:
        return Search(self._peaked.extremum, self._peaked.bracket)

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
        return self._captured(window, pressed=True)

    def _settling(self, at_s: float, reading: Reading) -> Progress:
        """Follow the level; capture it once it has stayed in the window for the hold."""
        self._hold.follow(at_s, reading)
        self._look_back()
        window = self._window
        self._hold.judge(window)
        if window is not None and self._hold.kept and not self._peaked.end_stops:
            return self._captured(window)
        return Progress(self._hold.watch.settlement.motion)

    def _look_back(self) -> None:
        """Whether the way the level came matters, before it is judged."""

    def _foresee(self, window: Window) -> None:
        """The extremum is known: so is how sure a level is about it."""
        peak, about = self._search.capture(self.channel), Beside("", Role.PEAK)
        self._narrowing.foresee(window, self.channel, Role.ADJUSTED, peak, about=about)

    def _captured(self, window: Window, *, pressed: bool = False) -> Progress:
        """Unless it is too unsure to pass where it is: then it has to come nearer to its place."""
        settlement = self._hold.settlement
        kept = Capture(
            role=Role.ADJUSTED,
            channel=self.channel,
            settlement=settlement,
            about=Beside("", Role.PEAK),
            **window.limits(),
        )
        captures = (self._search.capture(self.channel), kept)
        if not self._narrowing.lets_go(window, *captures, pressed=pressed):
            self._hold.refused(unsure=self._narrowing.unsure)
            return Progress(settlement.motion)
        return Progress(settlement.motion, captures, finished=True, verdict=kept.verdict)

    def guide(self) -> Guide:
        window, present = self._window, self._hold.watch.present
        return Guide(
            do_now=FREE if self._asks_for_stops else self._words(),
            awaiting_go_on=self._asks_for_stops,
            channel=self.channel,
            present=present,
            progress=self._hold.progress,
            phase=self._phase,
            why_not="" if window is None else self._hold.watch.why_not,
            cue=self._cue(window, present),
            **self._where_to(present),
        )

    @property
    def _asks_for_stops(self) -> bool:
        """Everything is done but for what only the hand knows."""
        return self._peaked.end_stops and self._window is not None and self._hold.kept

    def _where_to(self, present: float | None) -> dict[str, Any]:
        """Limits, distance and direction as keywords of a guide."""
        window = self._window
        return {} if window is None else window.bounds() | window.distance(present)

    def _cue(self, window: Window | None, present: float | None) -> Cue:
        """Tempo towards an extremum, whatever the window; steady inside it."""
        inside = window is not None and present is not None and window.contains(present)
        return Cue(Sound.INSIDE) if inside else self._search.cue
