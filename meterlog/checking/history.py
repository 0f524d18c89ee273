"""What the checks of a meter at one point say together: charts, drift, until when it holds, when to check."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cached_property
from itertools import groupby, pairwise

from meterlog.accuracy.drift import Line, NoDate, Outlook, Staircase, fit_line, outlook
from meterlog.accuracy.drift.line import LEAST as LEAST_OF_LINE
from meterlog.checking.charts import BASELINE, Charts, charts
from meterlog.checking.judged import Judged, Standing, key_of
from meterlog.records import MeterCheck

NO_LIMITS = "nobody has stated how far off it may be"
POOR_REFERENCE = "the reference is not known any better than the meter has to be"


@dataclass(frozen=True)
class PointHistory:
    """All checks of one meter at one point against one reference, the oldest first; at least one."""

    checks: tuple[Judged, ...]
    baseline: int = BASELINE

    @property
    def last(self) -> Judged:
        return self.checks[-1]

    @property
    def errors(self) -> list[float]:
        return [one.error for one in self.checks]

    @cached_property
    def charts(self) -> Charts | None:
        """None while there are too few checks."""
        return charts(self.errors, max(one.kept.resolution for one in self.checks), self.baseline)

    @cached_property
    def line(self) -> Line | None:
        """Errors against days since the first check."""
        first = self.checks[0].day
        days = [float((one.day - first).days) for one in self.checks]
        return fit_line(days, self.errors) if len(set(days)) >= LEAST_OF_LINE else None

    @property
    def outlook(self) -> tuple[date | None, str]:
        """The last day on which the next check lies inside at 95 %, or why there is none.

        What the reference is not known to is common to all checks, so it is taken off the limits before.
        """
        allowed = self.last.kept.allowed
        if allowed is None:
            return None, NO_LIMITS
        half_width = allowed - self.last.check.reference_uncertainty
        if half_width <= 0.0:
            return None, POOR_REFERENCE
        found: Outlook = outlook([one.day for one in self.checks], self.errors, -half_width, half_width)
        return found.until, self._why(found.why)

    def _why(self, why: NoDate | None) -> str:
        """Outside may mean: inside, but by less than the reference is known."""
        if why is NoDate.OUTSIDE and self.last.standing is Standing.INSIDE:
            return "inside by less than the uncertainty of the reference"
        return str(why or "")

    @property
    def every_days(self) -> float:
        """By the staircase: longer only once it has held for as long as was planned, shorter at once."""
        days = self.checks[0].kept.every_days
        for before, one in pairwise(self.checks):
            allowed = one.kept.allowed
            if allowed and ((one.day - before.day).days >= days or one.standing is Standing.OUTSIDE):
                days = Staircase().next_days(days, one.error, allowed)
        return days

    @property
    def due(self) -> date:
        return self.last.day + timedelta(days=round(self.every_days))


def histories(
    checks: Iterable[MeterCheck],
    *,
    meter: str = "",
    point: str = "",
    since: date | None = None,
    baseline: int = BASELINE,
) -> list[PointHistory]:
    """One for each meter, point and reference. `meter`: a name or a serial number; "" for all."""
    wanted = [
        Judged(one)
        for one in checks
        if meter in ("", one.meter, one.serial_number) and point in ("", one.point)
    ]
    recent = sorted((one for one in wanted if since is None or one.day >= since), key=_group)
    return [PointHistory(tuple(_in_time(own)), baseline) for _, own in groupby(recent, key=_group)]


def _group(one: Judged) -> tuple[str, str, str]:
    return key_of(one.kept), one.kept.point, one.kept.reference


def _in_time(checks: Iterable[Judged]) -> Sequence[Judged]:
    return sorted(checks, key=lambda one: one.kept.time_ns)


def by_meter(own: Iterable[PointHistory]) -> list[list[PointHistory]]:
    """All histories of one meter together."""
    ordered = sorted(own, key=_key)
    return [list(group) for _, group in groupby(ordered, key=_key)]


def _key(history: PointHistory) -> str:
    return key_of(history.last.kept)
