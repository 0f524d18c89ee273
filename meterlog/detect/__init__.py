"""Streaming detectors: settled, extremum, fallen by so much, crossed, drifting. Pure; no clock and no I/O.

All take ``update(time_s, value, state, *, resolution=0.0, range_max=None)`` and answer with a verdict on
everything seen so far; ``reset()`` forgets what was seen (a gap, another step).
"""

from meterlog.detect.backoff import BackOff
from meterlog.detect.crossing import Crossing
from meterlog.detect.drift import Drift, DriftRate
from meterlog.detect.extremum import Extremum
from meterlog.detect.settled import Settled
from meterlog.detect.verdict import Course, Cross, Fall, Motion, Peak, Reason, Settlement, Tolerance
from meterlog.detect.why import explain
from meterlog.detect.windows import LEAST_READINGS

__all__ = [
    "LEAST_READINGS",
    "BackOff",
    "Course",
    "Cross",
    "Crossing",
    "Drift",
    "DriftRate",
    "Extremum",
    "Fall",
    "Motion",
    "Peak",
    "Reason",
    "Settled",
    "Settlement",
    "Tolerance",
    "explain",
]
