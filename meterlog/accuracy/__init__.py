"""How sure a result is and what it means: coverage factors and decision rules."""

from meterlog.accuracy.coverage import coverage_factor, expanded_uncertainty
from meterlog.accuracy.decision import SIMPLE_ACCEPTANCE, Verdict, decide, worst

__all__ = [
    "SIMPLE_ACCEPTANCE",
    "Verdict",
    "coverage_factor",
    "decide",
    "expanded_uncertainty",
    "worst",
]
