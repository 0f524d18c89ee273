"""The meter itself is watched: its checks against references, charts, drift, scatter, when to check again.

Pure: dates and values come in, no clock is read. What a textbook has by name is tested against published
examples.
"""

from meterlog.accuracy.drift.charts import (
    Chart,
    Cusum,
    around_known,
    around_mean,
    cusum,
    ewma,
    ewma_half_width,
    individuals,
    moving_ranges,
)
from meterlog.accuracy.drift.checks import Check
from meterlog.accuracy.drift.factors import Factors, factors
from meterlog.accuracy.drift.interval import (
    Growth,
    Staircase,
    days_to_limit,
    days_to_uncertainty,
    growth,
)
from meterlog.accuracy.drift.line import Bounds, Line, fit_line
from meterlog.accuracy.drift.series import Summary, lag1, lag1_limit, runs_test, summary
from meterlog.accuracy.drift.trend import NoDate, Outlook, first_outside, outlook
from meterlog.accuracy.drift.variance import (
    Component,
    Day,
    Levels,
    Spread,
    SpreadTest,
    bartlett,
    levels,
    levene,
    pooled,
)
from meterlog.accuracy.drift.which import Change, Moved, which_moved

__all__ = [
    "Bounds",
    "Change",
    "Chart",
    "Check",
    "Component",
    "Cusum",
    "Day",
    "Factors",
    "Growth",
    "Levels",
    "Line",
    "Moved",
    "NoDate",
    "Outlook",
    "Spread",
    "SpreadTest",
    "Staircase",
    "Summary",
    "around_known",
    "around_mean",
    "bartlett",
    "cusum",
    "days_to_limit",
    "days_to_uncertainty",
    "ewma",
    "ewma_half_width",
    "factors",
    "first_outside",
    "fit_line",
    "growth",
    "individuals",
    "lag1",
    "lag1_limit",
    "levels",
    "levene",
    "moving_ranges",
    "outlook",
    "pooled",
    "runs_test",
    "summary",
    "which_moved",
]
