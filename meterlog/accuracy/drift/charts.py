"""Control charts: whether the latest checks of a meter still look like its history.

`history` is what the limits rest on, `then` what came after it and is judged without moving them; both in the
order of time. A chart is drawn through all of them. Values and limits are in the unit of the checks.
"""

import math
from collections.abc import Sequence
from itertools import accumulate, pairwise
from statistics import fmean, stdev
from typing import NamedTuple

from meterlog.accuracy.decision import Verdict, decide
from meterlog.accuracy.drift.factors import factors
from meterlog.accuracy.drift.student import two_sided

D2_OF_TWO = 1.128
"""d2 for ranges of two, rounded as published tables have it and NIST 6.3.2.2 uses it (exact: 1.12838)."""


class Chart(NamedTuple):
    """`points`, `low` and `high` have one entry for each value; `centre` is the line between the limits."""

    points: tuple[float, ...]
    centre: float
    low: tuple[float, ...]
    high: tuple[float, ...]

    @property
    def alarms(self) -> tuple[int, ...]:
        """Places of the points beyond their limits, from 0; a point on its limit is inside."""
        rows = zip(self.points, self.low, self.high, strict=True)
        return tuple(place for place, row in enumerate(rows) if decide(*row) is Verdict.FAIL)


def individuals(history: Sequence[float], then: Sequence[float] = ()) -> Chart:
    """Shewhart's chart of single values: mean and three standard deviations, these from the mean moving range
    (NIST/SEMATECH e-Handbook 6.3.2.2). ValueError below two values of history.

    Ranges of neighbours do not see a drift, so a drift does not widen the limits; but where neighbours are
    alike (see `meterlog.accuracy.drift.series.lag1`) the limits are too narrow and cry out in vain. So they
    are where a display repeats itself: a history without any scatter makes an alarm of the first other digit.
    """
    half_width = 3.0 * fmean(_moving_ranges(history)) / D2_OF_TWO
    return _level([*history, *then], fmean(history), half_width)


def moving_ranges(history: Sequence[float], then: Sequence[float] = ()) -> Chart:
    """Chart of the differences between neighbours: whether a meter has become restless. One point less than
    values; limits D3 and D4 times the mean range of the history. ValueError below two values of history."""
    centre = fmean(_moving_ranges(history))
    low, high = factors(2).d3_d4
    points = _moving_ranges([*history, *then])
    return Chart(tuple(points), centre, (low * centre,) * len(points), (high * centre,) * len(points))


def around_mean(history: Sequence[float], then: Sequence[float] = (), *, significance: float = 0.05) -> Chart:
    """Mean plus and minus t * s of the history, s with n - 1 (NIST/SEMATECH e-Handbook 2.2.2).
    ValueError below two values of history."""
    if len(history) < 2:
        raise ValueError("a chart needs a history of two values")
    half_width = stdev(history) * two_sided(len(history) - 1, 1.0 - significance)
    return _level([*history, *then], fmean(history), half_width)


def around_known(
    values: Sequence[float],
    centre: float,
    sd: float,
    degrees_of_freedom: int,
    *,
    together: int = 1,
    significance: float = 0.05,
) -> Chart:
    """Chart about a centre and a standard deviation that were found elsewhere, as by a calibration.

    together  how many points are looked at on one occasion: `significance` is the risk that any of them is
              out by chance (NIST/SEMATECH e-Handbook 2.3.7: tail 0.5 * (1 - (1 - alpha)^(1 / m)))
    """
    return _level(
        values, centre, sd * two_sided(degrees_of_freedom, (1.0 - significance) ** (1.0 / together))
    )


def ewma(
    values: Sequence[float], centre: float, sd: float, *, weight: float = 0.2, width: float = 3.0
) -> Chart:
    """Exponentially weighted moving average, for slow drift (NIST/SEMATECH e-Handbook 6.3.2.4). It starts at
    `centre`; limits are exact, so narrower for the first points than later.

    sd      of single values, from the history
    weight  of the newest value, above 0 and at most 1; 0.2 to 0.3 is usual. ValueError beyond.
    width   of the limits, in standard deviations of the average
    """
    points = list(accumulate(values, lambda old, new: weight * new + (1.0 - weight) * old, initial=centre))[
        1:
    ]
    widths = [ewma_half_width(sd, weight, width, after) for after in range(1, len(points) + 1)]
    return Chart(
        tuple(points), centre, tuple(centre - one for one in widths), tuple(centre + one for one in widths)
    )


def ewma_half_width(sd: float, weight: float, width: float = 3.0, after: float = math.inf) -> float:
    """Half-width of the limits after so many values; without `after` what it tends to:
    width * sd * sqrt(weight / (2 - weight) * (1 - (1 - weight)^(2 after)))."""
    if not 0.0 < weight <= 1.0:
        raise ValueError(f"a weight lies above 0 and is at most 1, not {weight}")
    return width * sd * math.sqrt(weight / (2.0 - weight) * (1.0 - (1.0 - weight) ** (2.0 * after)))


class Cusum(NamedTuple):
    """Tabular cumulative sums, one entry for each value.

    deviations   value less target
    high, low    what has gathered above and below the target, each less the allowance at every value
    sums         plain sum of the deviations
    decision     where `high` or `low` becomes an alarm
    """

    deviations: tuple[float, ...]
    high: tuple[float, ...]
    low: tuple[float, ...]
    sums: tuple[float, ...]
    decision: float

    @property
    def alarms(self) -> tuple[int, ...]:
        """Places of the values at which either sum lies beyond the decision interval, from 0."""
        return tuple(
            place
            for place, both in enumerate(zip(self.high, self.low, strict=True))
            if max(both) > self.decision
        )


def cusum(values: Sequence[float], target: float, allowance: float, decision: float) -> Cusum:
    """NIST/SEMATECH e-Handbook 6.3.2.3. `allowance` (k) and `decision` (h) in the unit of the values: k
    half of the shift that matters, h four to five standard deviations (common practice)."""
    deviations = tuple(value - target for value in values)
    return Cusum(
        deviations,
        _gathered(deviations, allowance),
        _gathered([-one for one in deviations], allowance),
        tuple(accumulate(deviations)),
        decision,
    )


def _gathered(deviations: Sequence[float], allowance: float) -> tuple[float, ...]:
    sums = accumulate(deviations, lambda old, new: max(0.0, old + new - allowance), initial=0.0)
    return tuple(sums)[1:]


def _moving_ranges(values: Sequence[float]) -> list[float]:
    if len(values) < 2:
        raise ValueError("a chart needs a history of two values")
    return [abs(after - before) for before, after in pairwise(values)]


def _level(values: Sequence[float], centre: float, half_width: float) -> Chart:
    n = len(values)
    return Chart(tuple(values), centre, (centre - half_width,) * n, (centre + half_width,) * n)
