"""Two meters and one reference: which of the three moved between two occasions. Pure."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date

from meterlog.accuracy.drift import Change, Moved, individuals, which_moved
from meterlog.checking.charts import LEAST
from meterlog.checking.errors import CheckError
from meterlog.checking.history import PointHistory, histories
from meterlog.checking.judged import Judged
from meterlog.records import MeterCheck


@dataclass(frozen=True, slots=True)
class Occasion:
    """A day on which both meters were checked at one point against one reference."""

    day: date
    a: Judged
    b: Judged

    @property
    def between(self) -> float:
        """A less B, as if both read the reference at once."""
        return self.a.error - self.b.error


@dataclass(frozen=True, slots=True)
class Comparison:
    """What changed from `before` to `now`, each change with its uncertainty, and what that means."""

    point: str
    reference: str
    before: Occasion
    now: Occasion
    a: Change
    b: Change
    between: Change

    @property
    def moved(self) -> Moved:
        return which_moved(self.a, self.b, self.between)


def compared(
    checks: Sequence[MeterCheck], a: str, b: str, *, point: str = "", since: date | None = None
) -> list[Comparison]:
    """At each point that both meters share: the last occasion against the first since a day, or against the
    one before it. CheckError: they share none, or one occasion alone."""
    found = [
        _comparison(one, occasions, since)
        for one in histories(checks, meter=a, point=point)
        for other in histories(checks, meter=b, point=point)
        if _comparable(one, other) and len(occasions := _occasions(one, other)) > 1
    ]
    if not found:
        raise CheckError(
            f"{a!r} and {b!r} were not both checked on two days, at one point and against one reference; "
            "check both with the same points file"
        )
    return found


def _comparable(one: PointHistory, other: PointHistory) -> bool:
    mine, theirs = one.last.kept, other.last.kept
    return (mine.point, mine.reference, mine.unit) == (theirs.point, theirs.reference, theirs.unit)


def _occasions(one: PointHistory, other: PointHistory) -> list[Occasion]:
    mine, theirs = ({check.day: check for check in history.checks} for history in (one, other))
    return [Occasion(day, mine[day], theirs[day]) for day in sorted(mine.keys() & theirs.keys())]


def _comparison(one: PointHistory, occasions: Sequence[Occasion], since: date | None) -> Comparison:
    *earlier, now = occasions
    before = next((at for at in earlier if since and at.day >= since), earlier[-1])
    stated = _stated(before.a, now.a), _stated(before.b, now.b)
    return Comparison(
        one.last.kept.point,
        one.last.kept.reference,
        before,
        now,
        _change(before.a.error, now.a.error, stated[0], [at.a.error for at in earlier]),
        _change(before.b.error, now.b.error, stated[1], [at.b.error for at in earlier]),
        _change(before.between, now.between, math.hypot(*stated), [at.between for at in earlier]),
    )


def _stated(*checks: Judged) -> float:
    """Of the indications alone: what the reference is not known to is the same both times."""
    return math.hypot(*(one.kept.expanded_uncertainty for one in checks))


def _change(before: float, now: float, stated: float, earlier: Sequence[float]) -> Change:
    """A difference is no surer than the same comparison was from day to day, where enough days are known."""
    if len(earlier) < LEAST:
        return Change(before, now, stated)
    chart = individuals(earlier)
    day_to_day = (chart.high[0] - chart.centre) / 3.0
    return Change(before, now, max(stated, 2.0 * math.sqrt(2.0) * day_to_day))
