"""How sure a result is and what it means: coverage factors, decision rules, what a meter can do."""

from meterlog.accuracy.band import Band
from meterlog.accuracy.combined import Part, combined, of_bounds
from meterlog.accuracy.coverage import coverage_factor, expanded_uncertainty
from meterlog.accuracy.decision import Verdict, decide, worst
from meterlog.accuracy.environment import Environment, parse_environment
from meterlog.accuracy.limits import Accuracy, Conditions, Limit, Statement
from meterlog.accuracy.profile import Deviation, Profile
from meterlog.accuracy.specification import Capability, InUse, Range, Shown, Specification
from meterlog.accuracy.waveforms import Response, Signal, Waveform

__all__ = [
    "Accuracy",
    "Band",
    "Capability",
    "Conditions",
    "Deviation",
    "Environment",
    "InUse",
    "Limit",
    "Part",
    "Profile",
    "Range",
    "Response",
    "Shown",
    "Signal",
    "Specification",
    "Statement",
    "Verdict",
    "Waveform",
    "combined",
    "coverage_factor",
    "decide",
    "expanded_uncertainty",
    "of_bounds",
    "parse_environment",
    "worst",
]
