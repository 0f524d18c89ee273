"""How sure a result is and what it means: coverage factors and decision rules."""

from meterlog.accuracy.combined import Part, combined, of_bounds
from meterlog.accuracy.coverage import coverage_factor, expanded_uncertainty
from meterlog.accuracy.decision import Verdict, decide, worst

__all__ = [
    "Part",
    "Verdict",
    "combined",
    "coverage_factor",
    "decide",
    "expanded_uncertainty",
    "of_bounds",
    "worst",
]
