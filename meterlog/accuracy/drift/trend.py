"""Drift of a meter over its checks, and until when it will probably stay inside its limits."""

import math
from collections.abc import Sequence
from datetime import date, timedelta
from enum import StrEnum
from typing import NamedTuple

from meterlog.accuracy.drift.crossing import first_above
from meterlog.accuracy.drift.line import LEAST, Line, fit_line

HORIZON_DAYS = 3652
"""Ten years: nobody can foresee a meter for longer (a choice of ours)."""


class NoDate(StrEnum):
    """Why there is no date."""

    TOO_FEW = "too few checks"
    OUTSIDE = "already outside"
    NO_SLOPE = "no slope that chance could not make"
    WIDE = "what the next check may show reaches beyond the limits already"
    FAR = "not within ten years"


class Outlook(NamedTuple):
    """Either `until`, the last day on which the next check lies inside with the probability asked for, or
    `why` there is no such day.

    line  error against days since the first check, None for checks on fewer than three days

    NO_SLOPE says that no drift is seen, not that there is none: with few checks `line.prediction` is wide,
    and `first_outside` tells how far it can be trusted.
    """

    line: Line | None
    until: date | None
    why: NoDate | None


def outlook(
    dates: Sequence[date], errors: Sequence[float], low: float, high: float, *, level: float = 0.95
) -> Outlook:
    """From the errors of all checks at one point and the limits they must keep, all in one unit.

    The day is the last before an edge of the prediction interval for a single check leaves the limits. It
    rests on a drift that stays as it was, and does not know what the reference did: an uncertainty of the
    reference that is common to all checks has to be taken off the limits before.
    """
    if not dates:
        return Outlook(None, None, NoDate.TOO_FEW)
    in_time = sorted(zip(dates, errors, strict=True), key=lambda check: check[0])
    first, (last, newest) = min(dates), in_time[-1]
    line = _line_of([(one - first).days for one in dates], errors)
    if not low <= newest <= high:
        return Outlook(line, None, NoDate.OUTSIDE)
    if line is None:
        return Outlook(None, None, NoDate.TOO_FEW)
    if line.slope_chance > 1.0 - level:
        return Outlook(line, None, NoDate.NO_SLOPE)
    return _dated(line, first, first_outside(line, low, high, (last - first).days, level=level), last)


def first_outside(line: Line, low: float, high: float, after: float, *, level: float = 0.95) -> float | None:
    """The first x from `after` on at which the prediction interval leaves the limits, `after` itself if it is
    out there already; None within HORIZON_DAYS of it. x in days."""

    def excess(x: float) -> float:
        bounds = line.prediction(x, level)
        return max(bounds.high - high, low - bounds.low)

    # Convex, as both edges are: once outside it stays outside, so one step is enough.
    return first_above(excess, after, after + HORIZON_DAYS, step=HORIZON_DAYS)


def _dated(line: Line, first: date, leaves: float | None, last: date) -> Outlook:
    if leaves is None:
        return Outlook(line, None, NoDate.FAR)
    until = first + timedelta(days=math.ceil(leaves) - 1)
    return Outlook(line, until, None) if until >= last else Outlook(line, None, NoDate.WIDE)


def _line_of(days: Sequence[float], errors: Sequence[float]) -> Line | None:
    return fit_line(days, errors) if len(set(days)) >= LEAST else None
