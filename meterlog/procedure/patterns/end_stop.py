"""Backing off from the end stop of a control: where it stands there is what the fall is counted from."""

from dataclasses import replace

from meterlog.detect import Course, Peak
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.model import StopBackOff
from meterlog.procedure.patterns.back_off import BackingOff
from meterlog.procedure.patterns.base import NOTHING, Capture, Progress
from meterlog.procedure.patterns.peaked import Phase, Search
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.view import Cue, Guide, Sound
from meterlog.reading import Reading


class AtStop(Search):
    """In the place of a search: the level is known once the pedal says that the stop is reached.

    A level beyond it afterwards means that it was not: it has to be said anew.
    """

    def __init__(self, step: StopBackOff) -> None:
        super().__init__(step.extremum, step.bracket)
        self._step = step
        self._watch = Watch(Stillness(step.settle_within, step.dwell, step.lag))

    def feed(self, at_s: float, reading: Reading) -> Peak:
        self._watch.feed(at_s, reading)
        level = self._watch.level
        if self.bracketed and self._watch.settled and level is not None and self._beyond(level):
            self.peak = Peak(course=Course.WAITING)
        return self.peak

    def _beyond(self, level: float) -> bool:
        assert self.peak.level is not None
        most = self._step.tolerance.half_width(self.peak.level)
        return self._signed(level) > self._signed(self.peak.level) + most

    def reached(self) -> None:
        """IllegalAction while the level has not settled there."""
        settlement = self._watch.settlement
        if not self._watch.settled or settlement.value is None:
            raise IllegalAction(f"not settled at the stop yet ({self._watch.why_not or 'no reading'})")
        self.peak = Peak(
            course=Course.BRACKETED,
            level=settlement.value,
            standard_uncertainty=settlement.standard_uncertainty,
            degrees_of_freedom=settlement.degrees_of_freedom,
            at_s=settlement.since_s,
            departure=0.0,
            present=settlement.value,
        )
        self._settlement = settlement

    @property
    def likely_level(self) -> float | None:
        return None

    @property
    def cue(self) -> Cue:
        return Cue(Sound.PRESS) if self._watch.settled else Cue()

    def capture(self, channel: str) -> Capture:
        """What settled at the stop."""
        return Capture(role=Role.PEAK, channel=channel, settlement=self._settlement)


class BackingOffFromStop(BackingOff):
    """As a back-off from an extremum, but that the pedal tells where it begins."""

    _search: AtStop

    def __init__(self, step: StopBackOff, ruling: Ruling) -> None:
        self._stop = step.stop
        super().__init__(step, ruling)

    def _new_search(self) -> AtStop:
        assert isinstance(self._peaked, StopBackOff)
        return AtStop(self._peaked)

    def go_on(self, at_s: float) -> Progress:
        if self._phase is Phase.SEEK:
            self._search.reached()
            return NOTHING
        return super().go_on(at_s)

    def guide(self) -> Guide:
        return replace(super().guide(), awaiting_go_on=self._phase is Phase.SEEK)

    def _seeking_words(self) -> str:
        return f"Turn to the {self._stop}, let it settle, then press."
