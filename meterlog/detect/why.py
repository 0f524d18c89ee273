"""Why a level is not settled, with the numbers that say so. All in base units."""

import math

from meterlog.detect.estimate import Bound, is_ramp
from meterlog.detect.verdict import Reason
from meterlog.reading import State

Why = tuple[Reason, str]


def no_value(state: State) -> Why:
    reason = Reason.OVERLOAD if state is State.OVERLOAD else Reason.NO_VALUE
    return reason, f"the meter shows {state.value}"


def dwelling(still_s: float, dwell_s: float, tolerance: float, count: float) -> Why:
    """No window as long as the dwell has passed since the last move."""
    if tolerance < count:
        return _few_counts(tolerance, count)
    return Reason.MOVING, f"still for {still_s:.1f} s of {dwell_s:.1f} s"


def unsettled(bound: Bound, tolerance: float, count: float, period_s: float | None, dwell_s: float) -> Why:
    """The reason why not even the best window does; `period_s` that of an oscillation if there is one."""
    line = bound.line
    spread = math.sqrt(line.variance)
    if tolerance < count:
        return _few_counts(tolerance, count)
    if period_s is not None:
        return Reason.OSCILLATING, f"swings with a period of {period_s:.2g} s, spread {spread:.3g}"
    if bound.drift < bound.scatter and not is_ramp(line, tolerance):
        return Reason.NOISY, f"spread {spread:.3g} over {line.n} readings, tolerance ±{tolerance:.3g}"
    if abs(line.slope_per_s) * dwell_s > tolerance:
        return Reason.MOVING, f"moves {line.slope_per_s:+.3g} per second, tolerance ±{tolerance:.3g}"
    return Reason.DRIFTING, f"drifts {60.0 * line.slope_per_s:+.3g} per minute, tolerance ±{tolerance:.3g}"


def _few_counts(tolerance: float, count: float) -> Why:
    return Reason.FEW_COUNTS, f"tolerance ±{tolerance:.3g} is less than one count of {count:.3g}"
