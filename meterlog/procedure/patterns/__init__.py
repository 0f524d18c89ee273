"""How each step pattern runs. A module registers what it makes with `pattern_for`."""

from meterlog.procedure.patterns import (  # noqa: F401 - imported for their registrations
    alternate,
    derived,
    entered,
    matching,
    one_level,
    peaks,
    power_down,
    safety,
    signing,
    simple,
    stability,
    table,
    threshold,
)
from meterlog.procedure.patterns.base import Capture, Pattern, Progress
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.simple import Unreferenced

__all__ = ["Capture", "Moment", "Pattern", "Progress", "Unreferenced", "pattern_for"]
