"""Settled: the level no longer moves, as far as the step's tolerance cares.

The claim behind Motion.SETTLED: the mean of the meter's true response over the next dwell lies within
tolerance(value) of value. The question asked whenever a window comes of age, over nested windows that end
now (the shortest is the dwell): is the bound on the value's error, its remaining drift included, smaller
than a share of the tolerance? See `meterlog.detect.estimate` for the bound. No claim while the level goes
evenly on (`meterlog.detect.ramp`) or the latest reading has left the others. A level that has stayed near for
as long as the step's horizon is judged by how far it goes to and fro.

What restarts the dwell: a state other than OK, another range, a gap of more than three usual intervals,
and a jump that a second reading confirms. A single wild reading is dropped and counted.

Motion.SETTLED ends with such a break, or when the mean of the last dwell leaves the tolerance about the
value first announced. If it crept there by itself, one verdict says so with ``revised=True``; see
`meterlog.detect.held` for the rule. The detector arms itself again either way.

How well it does against published methods, and on which signals it does badly: docs/detectors.md.
"""

import math

from meterlog.detect.estimate import Bound
from meterlog.detect.held import NONE, STANDS, WRONG, Fate, Held
from meterlog.detect.intake import FOLLOWING, IGNORED, Echoes, Gate, Guard
from meterlog.detect.judge import Judge, Now, averaged_in_s, motion, too_coarse
from meterlog.detect.swings import Swings
from meterlog.detect.verdict import NOTHING, Motion, Reason, Settlement, Tolerance, no_value
from meterlog.detect.windows import Windows
from meterlog.reading import State

LONGEST_DWELLS = 6.0
"""Longest window, in dwells; at least the horizon."""

REFRESHED_PER_DWELL = 1.0
"""A value that stands is bettered no more often than this."""


class Settled:
    """Judges one channel for one step.

    tolerance         half-width at a value, both in the base unit
    dwell_s           how long the level must have been still, and how far ahead the claim reaches
    horizon_s         when what moves by itself should have ended: 5 s after a trimmer, 300 s warming up
    reading_period_s  usual interval between readings, learnt if None
    lag_s             the meter's own averaging time; a shorter dwell is lengthened to it
    Raises ValueError for a time that is not above 0.
    """

    def __init__(
        self,
        tolerance: Tolerance,
        dwell_s: float,
        *,
        horizon_s: float = 5.0,
        reading_period_s: float | None = None,
        lag_s: float = 0.0,
    ) -> None:
        for name, seconds in (("dwell_s", dwell_s), ("horizon_s", horizon_s)):
            if not (seconds > 0.0 and math.isfinite(seconds)):
                raise ValueError(f"{name} is {seconds}: give seconds above 0")
        if not (lag_s >= 0.0 and math.isfinite(lag_s)):
            raise ValueError(f"lag_s is {lag_s}: give seconds, 0 if unknown")
        self._tolerance = tolerance
        self._dwell_s = max(dwell_s, lag_s)
        self._gate = Gate(reading_period_s)
        self._guard = Guard()
        self._echoes = Echoes()
        self._swings = Swings(self._guard)
        longest_s = max(LONGEST_DWELLS * self._dwell_s, horizon_s)
        self._windows = Windows(self._dwell_s, longest_s)
        self._held = Held(self._dwell_s, longest_s)
        self._judge = Judge(
            self._windows, self._held, self._guard, dwell_s=self._dwell_s, horizon_s=horizon_s, lag_s=lag_s
        )
        self._verdict = NOTHING
        self._forget()

    def update(
        self,
        time_s: float,
        value: float | None,
        state: State,
        *,
        resolution: float = 0.0,
        range_max: float | None = None,
    ) -> Settlement:
        """Take a reading; see `meterlog.detect.verdict`. One not later than the last changes nothing.

        Raises ValueError for a time, value or tolerance that is no finite number, and for a value that
        contradicts its state.
        """
        intake = self._gate.sort(time_s, value, state, range_max)
        if self._verdict.revised:
            self._verdict = self._verdict._replace(revised=False)  # said once
        if intake is IGNORED:
            return self._verdict
        if intake is not FOLLOWING:
            self._forget()
        if value is None:
            self._verdict = self._nothing(no_value(state))
        elif not self._echoes.again(time_s, value, resolution):
            self._take(time_s, value, resolution)
        return self._verdict

    def hold(self, time_s: float) -> Settlement:
        """The display is held (or shows a minimum, maximum or difference): its number is none of now."""
        if self._gate.sort(time_s, None, State.INVALID, None) is not IGNORED:
            self._forget()
            self._verdict = self._nothing(Reason.HELD)
        return self._verdict

    def latest(self) -> Settlement:
        """What settled, with the value of the last dwell alone: a level that was moved since by less than its
        tolerance still stands, but is elsewhere now."""
        short = self._windows.shortest()
        if self._verdict.motion is not Motion.SETTLED or short is None or self._now is None:
            return self._verdict
        now = Now(*self._now)
        return self._settlement(self._judge.bound(short, now.resolution), now)

    def look(self, time_s: float) -> Settlement:
        """The verdict at a time without a reading: the last one, or that the meter has fallen silent."""
        if not self._gate.silent(time_s):
            return self._verdict
        silence_s = time_s - self._gate.last_s
        return self._nothing(Reason.SILENT, silence_s if math.isfinite(silence_s) else None)

    def reset(self) -> None:
        """A gap: forget the window and the value announced, keep the rhythm learnt."""
        self._gate.reset()
        self._forget()

    def _nothing(self, reason: Reason, for_s: float | None = None) -> Settlement:
        return Settlement(Motion.WAITING, reason=reason, for_s=for_s, wild=self._guard.wild)

    def _forget(self) -> None:
        self._guard.reset()
        self._swings.clear()
        self._begin_again()
        self._verdict = NOTHING

    def _begin_again(self) -> None:
        self._windows.clear()
        self._held.drop()
        self._still_s, self._still_level = -math.inf, math.inf  # far from every level
        self._judge.forget()
        self._look_s = self._refresh_s = -math.inf
        self._now: tuple[float, float, float, float] | None = None  # seldom asked for: made a Now only then

    def _take(self, time_s: float, value: float, count: float) -> None:
        tolerance = self._tolerance(value)
        if not 0.0 <= tolerance < math.inf:
            raise ValueError(f"the tolerance at {value} is {tolerance}: give a half-width, 0 or above")
        limit = tolerance / 2.0 if tolerance > 4.0 * count else 2.0 * count
        passed = self._guard.pass_on(time_s, value, limit)
        if len(passed) == 2:
            self._begin_again()
        due = False
        for at_s, level in passed:
            due = self._windows.add(at_s, level) or due
            self._swings.add(at_s, level, limit)
            if abs(level - self._still_level) > tolerance:
                self._still_s, self._still_level = at_s, level
        now = self._now = (time_s, value, tolerance, count)
        if (due and time_s >= self._look_s) or (passed and not self._windows.grown):
            fate = self._held.fate(time_s, self._windows, tolerance)
            if fate is not STANDS:
                self._verdict = self._judged(Now(*now), fate)
            elif time_s >= self._refresh_s:
                self._refresh(Now(*now))

    def _refresh(self, now: Now) -> None:
        self._refresh_s = now.time_s + self._dwell_s / REFRESHED_PER_DWELL
        swings = self._swings.period_s(now.time_s) is not None
        bound = self._judge.standing(now, swings=swings)
        if bound is not None:
            self._verdict = self._settlement(bound, now)

    def _judged(self, now: Now, fate: Fate) -> Settlement:
        if fate is not NONE:
            self._windows.cut_longer()  # they hold the level that was left
        short = self._windows.shortest()
        if short is None or too_coarse(now):
            return self._dwelling(now)
        period_s = self._swings.period_s(now.time_s)
        best = self._judge.best(short, now, swings=period_s is not None)
        if fate is WRONG:
            return self._unsettled(best, now, period_s)._replace(revised=True)
        if self._judge.good(best, short, now, period_s):
            return self._settled(best, now)
        return self._unsettled(best, now, period_s)

    def _settled(self, best: Bound, now: Now) -> Settlement:
        self._refresh_s = now.time_s + self._dwell_s / REFRESHED_PER_DWELL
        settlement = self._settlement(best, now)
        assert settlement.value is not None
        self._held.announce(now.time_s, settlement.value)
        return settlement

    def _unsettled(self, best: Bound, now: Now, period_s: float | None) -> Settlement:
        self._look_s = self._judge.look_again_s(best, now)
        reason = self._judge.reason(best, now, period_s)
        in_s = averaged_in_s(best, now.tolerance) if reason is Reason.NOISY else None
        return self._settlement(best, now, reason, period_s, in_s)

    def _settlement(
        self,
        bound: Bound,
        now: Now,
        reason: Reason | None = None,
        period_s: float | None = None,
        settles_in_s: float | None = None,
    ) -> Settlement:
        estimate, line = self._judge.estimator.estimate(bound, now.resolution), bound.line
        return Settlement(
            motion(reason),
            estimate.value,
            estimate.standard_uncertainty,
            estimate.degrees_of_freedom,
            line.slope_per_s,
            math.sqrt(line.variance),
            line.start_s,
            line.n,
            reason,
            now.tolerance,
            now.resolution,
            period_s=period_s,
            settles_in_s=settles_in_s,
            wild=self._guard.wild,
            range_max=self._gate.range_max,
        )

    def _dwelling(self, now: Now) -> Settlement:
        """No window as long as the dwell yet, or too coarse a display: only how long the level has been still
        can be told."""
        still_s = now.time_s - self._still_s
        coarse = now.tolerance < now.resolution
        moving = not coarse and still_s < (self._gate.period_s or math.inf) / 2.0
        return Settlement(
            Motion.MOVING if moving else Motion.SETTLING,
            now.value,
            since_s=now.time_s - still_s,
            reason=Reason.FEW_COUNTS if coarse else Reason.MOVING,
            tolerance=now.tolerance,
            resolution=now.resolution,
            for_s=still_s,
            settles_in_s=None if coarse or moving else max(0.0, self._dwell_s - still_s),
            wild=self._guard.wild,
        )
