"""Control charts over the checks at one point. Pure.

Limits rest on the first checks, the baseline, and what comes later does not move them. A display that repeats
itself shows no scatter at all: a standard deviation is taken to be no less than a third of a count, so that
the neighbouring digit is no alarm by itself (a choice of ours).
"""

from collections.abc import Sequence
from statistics import fmean
from typing import NamedTuple

from meterlog.accuracy.drift import Chart, Cusum, cusum, ewma, individuals

BASELINE, LEAST = 20, 8
"""Checks that limits rest on; below the least there are none. Twenty to twenty-five is common practice."""
WEIGHT = 0.2
ALLOWANCE, DECISION = 0.5, 5.0
"""Of the cumulative sums, in standard deviations: for a shift of one of them (NIST 6.3.2.3: h of 4 or 5)."""


class Charts(NamedTuple):
    """In the unit of the checks. `baseline`: how many of the first checks the limits rest on."""

    baseline: int
    centre: float
    sd: float
    individuals: Chart
    ewma: Chart
    cusum: Cusum

    @property
    def alarms(self) -> dict[str, tuple[int, ...]]:
        """Places of the checks that each chart cries out at, from 0."""
        return {
            "individuals": self.individuals.alarms,
            "EWMA": self.ewma.alarms,
            "CUSUM": self.cusum.alarms,
        }


def charts(errors: Sequence[float], count: float = 0.0, baseline: int = BASELINE) -> Charts | None:
    """None below LEAST checks before the last. `count`: one count of the display, 0.0 unknown."""
    size = min(baseline, len(errors) - 1)
    if size < min(LEAST, baseline):
        return None
    history, then = errors[:size], errors[size:]
    found = individuals(history, then)
    centre = fmean(history)
    sd = max((found.high[0] - centre) / 3.0, count / 3.0)
    n = len(errors)
    shewhart = Chart(tuple(errors), centre, (centre - 3.0 * sd,) * n, (centre + 3.0 * sd,) * n)
    return Charts(
        size,
        centre,
        sd,
        shewhart,
        ewma(errors, centre, sd, weight=WEIGHT),
        cusum(errors, centre, ALLOWANCE * sd, DECISION * sd),
    )
