"""Settled: the level no longer moves, as far as the step's tolerance cares.

The claim behind Motion.SETTLED: the mean of the meter's true response over the next dwell lies within
tolerance(value) of value. The question asked after every reading, over nested windows that end now (the
shortest is the dwell): is the bound on the value's error, its remaining drift included, smaller than a
share of the tolerance? See `meterlog.detect.estimate` for the bound.

What restarts the dwell: a state other than OK, another range, a gap of more than three usual intervals,
and a jump that a second reading confirms. A single wild reading is dropped.

Motion.SETTLED ends with such a break, or when the mean of the last dwell leaves the tolerance about the
value first announced. If it crept there by itself, one verdict says so with ``revised=True``; see
`meterlog.detect.held` for the rule. The detector arms itself again either way.
"""

import math
from dataclasses import replace

from meterlog.detect import why
from meterlog.detect.estimate import Bound, Estimate, Estimator, is_ramp
from meterlog.detect.held import Fate, Held
from meterlog.detect.intake import Gate, Guard, Intake
from meterlog.detect.swings import Swings
from meterlog.detect.verdict import Motion, Reason, Settlement, Tolerance
from meterlog.detect.windows import Windows
from meterlog.reading import State

SHARE = 0.8
"""Part of the tolerance that the bound may fill; found on simulated plateaus with known truth."""

LEAST_READINGS = 3

TAILS_PER_HORIZON = 3.0
"""What is over at the horizon has three time constants behind it: 5 % are left."""

LONGEST_DWELLS = 6.0
"""Longest window, in dwells; at least the horizon."""

JUDGEMENTS_PER_DWELL = 16.0
"""A fast meter is judged no more often than this; its readings count all the same."""

HOPELESS_SPREAD = 3.0
"""A window whose spread is so many tolerances, and usual changes, contains a move and is given up."""


NOTHING = Settlement(motion=Motion.WAITING, reason=Reason.NO_VALUE, detail="no reading yet")


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
        self._estimator = Estimator(max(horizon_s / TAILS_PER_HORIZON, lag_s), self._dwell_s)
        self._verdict = NOTHING
        self._gate = Gate(reading_period_s)
        self._guard = Guard()
        self._swings = Swings()
        longest_s = max(LONGEST_DWELLS * self._dwell_s, horizon_s)
        self._windows = Windows(self._dwell_s, longest_s)
        self._held = Held(self._dwell_s, longest_s)
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
            self._verdict = replace(self._verdict, revised=False)  # said once
        if intake is Intake.IGNORED:
            return self._verdict
        if intake is not Intake.FOLLOWING:
            self._forget()
        if value is None:
            reason, detail = why.no_value(state)
            self._verdict = Settlement(motion=Motion.WAITING, reason=reason, detail=detail)
        else:
            self._take(time_s, value, resolution)
        return self._verdict

    def reset(self) -> None:
        """A gap: forget the window and the value announced, keep the rhythm learnt."""
        self._gate.reset()
        self._forget()

    def _forget(self) -> None:
        self._guard.reset()
        self._swings.clear()
        self._begin_again()
        self._verdict = NOTHING

    def _begin_again(self) -> None:
        self._windows.clear()
        self._held.drop()
        self._still: tuple[float, float] | None = None
        self._judged_s = -math.inf

    def _take(self, time_s: float, value: float, count: float) -> None:
        tolerance = self._tolerance(value)
        if not 0.0 <= tolerance < math.inf:
            raise ValueError(f"the tolerance at {value} is {tolerance}: give a half-width, 0 or above")
        limit = max(tolerance / 2.0, 2.0 * count)
        passed = self._guard.pass_on(time_s, value, limit)
        jumped = len(passed) == 2
        if jumped:
            self._begin_again()
        for at_s, level in passed:
            self._windows.add(at_s, level)
            self._swings.add(at_s, level, max(limit, 2.0 * self._guard.usual_change()))
            if self._still is None or abs(level - self._still[1]) > tolerance:
                self._still = (at_s, level)
        due = time_s - self._judged_s >= self._dwell_s / JUDGEMENTS_PER_DWELL
        if passed and due:
            self._judged_s = time_s
            self._verdict = self._judge(time_s, value, tolerance, count)

    def _judge(self, time_s: float, value: float, tolerance: float, count: float) -> Settlement:
        hopeless = HOPELESS_SPREAD * max(tolerance, self._guard.usual_change())
        lines = self._windows.lines(LEAST_READINGS, hopeless**2)
        if not lines:
            self._held.drop()
            return self._dwelling(time_s, value, tolerance, count)
        fate = self._held.fate(time_s, lines[0], tolerance)
        wander = self._held.wander_variance
        best = min((self._estimator.bound(line, count, wander) for line in lines), key=_total)
        ramp = any(is_ramp(line, tolerance) for line in lines)
        if best.total <= SHARE * tolerance and not ramp and fate is not Fate.WRONG:
            return self._settled(time_s, best, count)
        if fate is Fate.STANDS:
            return self._verdict
        return self._unsettled(time_s, best, tolerance, count, revised=fate is Fate.WRONG)

    def _settled(self, time_s: float, best: Bound, count: float) -> Settlement:
        estimate = self._estimator.estimate(best, count)
        self._held.announce(time_s, estimate.value)
        return _settlement(Motion.SETTLED, best, estimate)

    def _unsettled(
        self, time_s: float, best: Bound, tolerance: float, count: float, *, revised: bool
    ) -> Settlement:
        period_s = self._swings.period_s(time_s)
        reason, detail = why.unsettled(best, tolerance, count, period_s, self._dwell_s)
        motion = Motion.MOVING if reason is Reason.MOVING else Motion.SETTLING
        settlement = _settlement(motion, best, self._estimator.estimate(best, count))
        return replace(settlement, reason=reason, detail=detail, revised=revised)

    def _dwelling(self, time_s: float, value: float, tolerance: float, count: float) -> Settlement:
        """No window as long as the dwell yet: only how long the level has been still can be told."""
        still_s = time_s - self._still[0] if self._still else 0.0
        moving = still_s < (self._gate.period_s or math.inf) / 2.0
        reason, detail = why.dwelling(still_s, self._dwell_s, tolerance, count)
        return Settlement(
            motion=Motion.MOVING if moving else Motion.SETTLING,
            value=value,
            since_s=time_s - still_s,
            reason=reason,
            detail=detail,
        )


def _total(bound: Bound) -> float:
    return bound.total


def _settlement(motion: Motion, bound: Bound, estimate: Estimate) -> Settlement:
    line = bound.line
    return Settlement(
        motion=motion,
        value=estimate.value,
        standard_uncertainty=estimate.standard_uncertainty,
        degrees_of_freedom=estimate.degrees_of_freedom,
        rate_per_s=line.slope_per_s,
        spread=math.sqrt(line.variance),
        since_s=line.start_s,
        readings=line.n,
    )
