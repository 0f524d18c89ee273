"""How sure a result is and what it means: coverage factors and decision rules."""

from meterlog.accuracy.coverage import coverage_factor, expanded_uncertainty
from meterlog.accuracy.decision import Verdict, decide, worst

__all__ = [
    "Verdict",
    "coverage_factor",
    "decide",
    "expanded_uncertainty",
    "worst",
]
