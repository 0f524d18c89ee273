"""Where the scatter of checks comes from, and whether it is the same everywhere."""

import math
from collections.abc import Iterable, Sequence
from itertools import chain
from statistics import fmean, median, stdev
from typing import NamedTuple


class Spread(NamedTuple):
    sd: float
    degrees_of_freedom: int


class Day(NamedTuple):
    """Readings of one day at one point: their mean, their standard deviation (n - 1), their number."""

    mean: float
    sd: float
    n: int


class Component(NamedTuple):
    """A variance found as a difference of two, in the unit of the values squared; may come out negative."""

    estimate: float

    @property
    def cut(self) -> bool:
        """Whether it had to be cut to zero: this source does not show beside the scatter below it."""
        return self.estimate < 0.0

    @property
    def sd(self) -> float:
        return math.sqrt(max(0.0, self.estimate))


class Levels(NamedTuple):
    """Three levels of scatter and what each adds to the one below; the third is None for a single run.

    readings      pooled within days
    days, runs    standard deviation of the averages of days (pooled over runs) and of runs
    between_days, between_runs    what days and runs add by themselves
    """

    readings: Spread
    days: Spread
    runs: Spread | None
    between_days: Component
    between_runs: Component | None

    @property
    def single_reading_sd(self) -> float:
        """Standard deviation of one reading on some day in some run."""
        between = self.between_runs.sd if self.between_runs else 0.0
        return math.hypot(self.readings.sd, self.between_days.sd, between)


def pooled(spreads: Sequence[Spread]) -> Spread:
    """Root of the mean variance, each weighted with its degrees of freedom. ValueError if there are none."""
    degrees = sum(one.degrees_of_freedom for one in spreads)
    if degrees < 1:
        raise ValueError("nothing to pool: no degrees of freedom")
    squares = math.fsum(one.degrees_of_freedom * one.sd**2 for one in spreads)
    return Spread(math.sqrt(squares / degrees), degrees)


def levels(runs: Sequence[Sequence[Day]]) -> Levels:
    """Nested analysis of a check standard, NIST/SEMATECH e-Handbook 2.4.4.1 to 2.4.4.3.

    Every run has as many days as the others, two at least, and every day as many readings, two at least;
    ValueError otherwise.
    """
    days_each, readings_each = _equal(map(len, runs)), _equal(day.n for run in runs for day in run)
    readings = pooled([Spread(day.sd, day.n - 1) for run in runs for day in run])
    days = pooled([_spread([day.mean for day in run]) for run in runs])
    between_days = Component(days.sd**2 - readings.sd**2 / readings_each)
    if len(runs) < 2:
        return Levels(readings, days, None, between_days, None)
    over_runs = _spread([fmean(day.mean for day in run) for run in runs])
    between_runs = Component(over_runs.sd**2 - days.sd**2 / days_each)
    return Levels(readings, days, over_runs, between_days, between_runs)


class SpreadTest(NamedTuple):
    """critical  what the statistic exceeds by chance in one of twenty cases
    p_value      probability that chance alone makes it as large as it is
    """

    statistic: float
    degrees_of_freedom: tuple[int, ...]
    critical: float
    p_value: float

    @property
    def alike(self) -> bool:
        return self.statistic <= self.critical


def bartlett(groups: Sequence[Sequence[float]]) -> SpreadTest:
    """Whether normal groups scatter alike (NIST/SEMATECH e-Handbook 1.3.5.7). Takes groups that are not
    normal for unlike ones. ValueError below two groups, two values in each or without scatter in one."""
    from scipy.special import chdtrc, chdtri  # noqa: PLC0415 - slow to load, and seldom needed

    spreads, degrees = [_spread(group) for group in _two(groups)], len(groups) - 1
    if min(one.sd for one in spreads) == 0.0:
        raise ValueError("a group has no scatter at all")
    together = pooled(spreads)
    logs = math.fsum(one.degrees_of_freedom * math.log(one.sd / together.sd) for one in spreads)
    shares = math.fsum(1.0 / one.degrees_of_freedom for one in spreads) - 1.0 / together.degrees_of_freedom
    statistic = max(0.0, -2.0 * logs / (1.0 + shares / (3.0 * degrees)))
    return SpreadTest(statistic, (degrees,), float(chdtri(degrees, 0.05)), float(chdtrc(degrees, statistic)))


def levene(groups: Sequence[Sequence[float]]) -> SpreadTest:
    """The same without asking for normal values: analysis of variance of the distances from each group's
    median (NIST/SEMATECH e-Handbook 1.3.5.10, median form). ValueError as for `bartlett`, but one group may
    be without scatter; not all."""
    from scipy.special import fdtrc, fdtri  # noqa: PLC0415 - slow to load, and seldom needed

    away = [[abs(value - median(group)) for value in group] for group in _two(groups)]
    everything = list(chain.from_iterable(away))
    degrees = (len(away) - 1, len(everything) - len(away))
    within = pooled([_spread(group) for group in away]).sd ** 2
    if within == 0.0:
        raise ValueError("no group has any scatter")
    grand = fmean(everything)
    between = math.fsum(len(group) * (fmean(group) - grand) ** 2 for group in away) / degrees[0]
    statistic = between / within
    return SpreadTest(statistic, degrees, float(fdtri(*degrees, 0.95)), float(fdtrc(*degrees, statistic)))


def _two(groups: Sequence[Sequence[float]]) -> Sequence[Sequence[float]]:
    if min(len(groups), *map(len, groups)) < 2:
        raise ValueError("two groups are needed, and two values in each")
    return groups


def _spread(values: Sequence[float]) -> Spread:
    return Spread(stdev(values), len(values) - 1)


def _equal(counts: Iterable[int]) -> int:
    """The one count there is, at least two."""
    found = set(counts)
    if len(found) != 1 or min(found) < 2:
        raise ValueError("levels need equal numbers, two at least, of days in a run and of readings in a day")
    return found.pop()
