"""Whether a level goes evenly on: no tail, no end in sight."""

from meterlog.detect.sums import Line

LEAST_TRAVEL = 0.5
"""In tolerances: less is no matter."""

SURE = 3.0
"""Standard errors that the slope must be above 0."""

EVEN = 2.5
"""Scatter about the long line over that about the short one: more, and the long one is bent."""

WHITE, FAR_TRAVEL = 0.25, 1.5
"""With so little correlation of neighbouring residuals no bend is left in them, whatever the short line's
scatter: a few readings lie close together by luck. Only for a travel of so many tolerances: in less, noise
hides the bend of a tail."""

BENT = 0.03
"""An exponential seen for one time constant bends away from its line by 3.5 % of its travel (standard
deviation), seen for longer by more."""


def goes_on(line: Line, short: Line, tolerance: float, count: float) -> bool:
    """Whether `line` is a ramp; `short` is the line through the last dwell, `count` one of the display."""
    travel = abs(line.slope_per_s) * line.span_s
    if travel < LEAST_TRAVEL * tolerance:
        return False
    step = count * count / 12.0
    if line.slope_per_s**2 * line.stt < SURE**2 * (line.variance * line.widening + step):
        return False
    if line.correlation < WHITE and travel > FAR_TRAVEL * tolerance:
        return True
    return line.variance < EVEN * short.variance + step + (BENT * travel) ** 2
