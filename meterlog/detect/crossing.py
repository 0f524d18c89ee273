"""Crossing: the moment at which a level is gone through."""

from meterlog.detect.intake import Gate, Intake
from meterlog.detect.verdict import Course, Cross, Tolerance
from meterlog.reading import State


class Crossing:
    """Tells the latest crossing of `level` in the wanted direction (both if `rising` is None).

    A side counts once two readings in a row lie on it, beyond the hysteresis; the moment is interpolated
    between the readings around the level itself. Where noise on the level gave several moments between
    leaving one side and reaching the other, the middle between first and last is taken.
    """

    def __init__(self, level: float, hysteresis: Tolerance | None = None, rising: bool | None = None) -> None:
        self._level = level
        self._margin = hysteresis(level) if hysteresis else 0.0
        self._rising = rising
        self.reset()

    def reset(self) -> None:
        """Forget both side and crossing."""
        self._gate = Gate()
        self._cross = Cross(course=Course.WAITING)
        self._forget_side()

    def update(
        self,
        time_s: float,
        value: float | None,
        state: State,
        *,
        resolution: float = 0.0,  # noqa: ARG002 - all detectors are called alike
        range_max: float | None = None,
    ) -> Cross:
        """Take a reading. A gap or a range change forgets the side: what happened in between is unknown."""
        intake = self._gate.sort(time_s, value, state, range_max)
        if intake in (Intake.BROKEN, Intake.FRESH):
            self._forget_side()
        if value is not None and intake is not Intake.IGNORED:
            self._step(time_s, value - self._level)
        return self._cross

    def _forget_side(self) -> None:
        self._side = self._beyond = 0
        self._last: tuple[float, float] | None = None
        self._moments: tuple[float, float] | None = None

    def _step(self, time_s: float, above: float) -> None:
        self._note_moment(time_s, above)
        beyond = _side(above, self._margin)
        confirmed = beyond if beyond == self._beyond else 0
        self._beyond, self._last = beyond, (time_s, above)
        at_s, rising, course = self._cross.at_s, self._cross.rising, self._cross.course
        wanted = self._rising in (None, confirmed > 0)
        if confirmed and confirmed == -self._side and self._moments and wanted:
            at_s, rising, course = sum(self._moments) / 2, confirmed > 0, Course.PASSED
        if confirmed:
            self._side, self._moments = confirmed, None
        if course is Course.WAITING and self._side:
            course = Course.APPROACHING
        self._cross = Cross(course=course, at_s=at_s, rising=rising, present=above + self._level)

    def _note_moment(self, time_s: float, above: float) -> None:
        if self._last is None or not self._side:
            return
        last_s, last = self._last
        if last * self._side > 0 >= above * self._side:
            moment_s = last_s + (time_s - last_s) * last / (last - above)
            self._moments = (self._moments[0] if self._moments else moment_s, moment_s)


def _side(above: float, margin: float) -> int:
    if above >= margin and above > 0:
        return 1
    return -1 if above <= -margin and above < 0 else 0
