"""Whether a window is good enough, and why none is: the judgement behind `Settled`."""

import math
from typing import NamedTuple

from meterlog.detect.estimate import Bound, Estimator
from meterlog.detect.held import Held
from meterlog.detect.intake import Guard
from meterlog.detect.ramp import SURE, goes_on
from meterlog.detect.sums import Line
from meterlog.detect.verdict import Motion, Reason
from meterlog.detect.windows import Windows

SHARE = 0.7
"""Part of the tolerance that the bound may fill; found on the training seeds of tests/trials/settling."""

STEEPEST = 0.18
"""Largest slope of a settled level, in tolerances per dwell."""

STAYED_SHARE, STAYED_DWELLS, MOST_SPREAD, MOST_SWING = 0.95, 2.0, 1.2, 0.7
"""A level that stayed near for the horizon, and so many dwells, is judged by what is left of its going to and
fro: a share of the tolerance. With a spread of more tolerances it is noise, or, if it swings, hunting: the
swing itself is 1.4 spreads."""

LEAST_SWING = 0.5
"""A window in which the level swings is no shorter than this part of the period: where it turns, it stands
still for a while."""

LATEST_TOLERANCES, LATEST_SPREADS = 0.3, 1.5
"""The latest reading may be so far from its window's mean, the larger of the two: a hand that has just moved
on shows there first."""

TAILS_PER_HORIZON = 3.0
"""What is over at the horizon has three time constants behind it: 5 % are left."""

HOPELESS_SPREAD = 3.0
"""A window whose spread is so many tolerances, and usual changes, contains a move and is given up."""


FAR_TOLERANCES, FAR_LOOKS = 3.0, 4.0
"""While the bound is so many tolerances wide, so few looks a dwell are enough."""

LEAST_COUNTS = 0.5
"""A tolerance of fewer counts is nothing that the display could tell, however long it is averaged."""


class Now(NamedTuple):
    """The reading being judged, the tolerance at it and one count of the display (resolution), base unit."""

    time_s: float
    value: float
    tolerance: float
    resolution: float


class Judge:
    """Asks the windows of one detector what they say of the level now."""

    def __init__(
        self,
        windows: Windows,
        held: Held,
        guard: Guard,
        *,
        dwell_s: float,
        horizon_s: float,
        lag_s: float,
    ) -> None:
        self._windows, self._held, self._guard, self._dwell_s = windows, held, guard, dwell_s
        self.estimator = Estimator(max(horizon_s / TAILS_PER_HORIZON, lag_s), dwell_s)
        self._horizon_s = max(horizon_s, STAYED_DWELLS * dwell_s)
        self.forget()

    def forget(self) -> None:
        self._ramp_s = -math.inf  # when the level was last seen to go evenly on

    def standing(self, now: Now, *, swings: bool) -> Bound | None:
        """The longest window that bears a value that stands; `swings`: the level goes to and fro."""
        for line in self._windows.longest_first():
            bound = self._stayed(line, now, swings=swings) or self.bound(line, now.resolution)
            if bound.stayed or bound.total <= SHARE * now.tolerance:
                return bound
        return None

    def best(self, short: Line, now: Now, *, swings: bool) -> Bound:
        """The better of the shortest window and one of the longer ones, which take turns."""
        best = self.bound(short, now.resolution)
        if best.total <= SHARE * now.tolerance or best.drift > now.tolerance:
            return best
        line = self._windows.another()
        if line is None:
            return best
        if self._hopeless(line, now):
            self._windows.cut(line.start_s)
            return best
        longer = self.bound(line, now.resolution)
        if longer.total < best.total:
            best = longer
        if goes_on(line, short, now.tolerance, now.resolution):
            self._ramp_s = now.time_s
            return best
        return self._stayed(line, now, swings=swings) or best

    def _hopeless(self, line: Line, now: Now) -> bool:
        if line.variance <= (HOPELESS_SPREAD * now.tolerance) ** 2:
            return False
        return line.variance > (HOPELESS_SPREAD * self._guard.usual_change) ** 2

    def _stayed(self, line: Line, now: Now, *, swings: bool) -> Bound | None:
        """The bound of a window in which the level has stayed near until what moves by itself is over."""
        most = (MOST_SWING if swings else MOST_SPREAD) * now.tolerance
        if line.span_s < self._horizon_s or line.variance > most * most:
            return None
        bound = self.estimator.steady(line, now.resolution, self._held.wander_variance)
        return bound if bound.total <= STAYED_SHARE * now.tolerance else None

    def bound(self, line: Line, count: float) -> Bound:
        return self.estimator.bound(line, count, self._held.wander_variance, self._held.usual)

    def good(self, bound: Bound, short: Line, now: Now, period_s: float | None) -> bool:
        """Whether the level may be called settled by `bound`; `period_s` that of an oscillation, or None."""
        line, tolerance = bound.line, now.tolerance
        if not bound.stayed and bound.total > SHARE * tolerance:
            return False
        latest = max(LATEST_TOLERANCES * tolerance, LATEST_SPREADS * math.sqrt(line.variance), now.resolution)
        if abs(now.value - line.mean) > latest:
            return False
        return bound.stayed or (
            abs(bound.slope) * self._dwell_s <= STEEPEST * tolerance
            and (period_s is None or line.span_s >= LEAST_SWING * period_s)
            and not any(
                goes_on(longer, short, tolerance, now.resolution) for longer in self._windows.longest_first()
            )
        )

    def look_again_s(self, best: Bound, now: Now) -> float:
        """When to look again at what is not settled yet: at once, or later if it is far from it."""
        far = best.total > FAR_TOLERANCES * now.tolerance
        return now.time_s + self._dwell_s / FAR_LOOKS if far else now.time_s

    def reason(self, best: Bound, now: Now, period_s: float | None) -> Reason:
        """Why not even the better window does; `period_s` that of an oscillation, None if there is none."""
        if now.tolerance < now.resolution:
            return Reason.FEW_COUNTS
        if period_s is not None:
            return Reason.OSCILLATING
        if best.drift < best.scatter and not self._goes_somewhere(best.line, now):
            return Reason.NOISY
        fast = abs(best.line.slope_per_s) * self._dwell_s > now.tolerance
        return Reason.MOVING if fast else Reason.DRIFTING

    def _goes_somewhere(self, line: Line, now: Now) -> bool:
        """The scatter is not what hinders: the slope is certain, or a longer window lately was a ramp."""
        certain = line.slope_per_s**2 * line.stt > SURE**2 * (line.variance + now.resolution**2 / 12.0)
        lately = now.time_s - self._ramp_s < self._dwell_s
        return line.variance < now.tolerance**2 and (certain or lately)


def too_coarse(now: Now) -> bool:
    return now.tolerance < LEAST_COUNTS * now.resolution


def motion(reason: Reason | None) -> Motion:
    """What the signal does that is not settled for a reason, or for none is."""
    if reason is None:
        return Motion.SETTLED
    return Motion.MOVING if reason is Reason.MOVING else Motion.SETTLING


def averaged_in_s(bound: Bound, tolerance: float) -> float | None:
    """When the noise will have been averaged out: the bound falls at least with the root of the window."""
    enough = SHARE * tolerance
    return bound.line.span_s * ((bound.total / enough) ** 2 - 1.0) if enough > 0.0 else None
