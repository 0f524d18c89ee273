"""From a step of the file to the pattern that runs it, in the pass at hand."""

from meterlog.detect import Tolerance
from meterlog.procedure.events import Pass, Role
from meterlog.procedure.model import (
    Adjust,
    Alternate,
    BackOff,
    Extremum,
    Measure,
    Prepare,
    SetSource,
    Step,
    Threshold,
    WarmUp,
)
from meterlog.procedure.patterns.adjusting import Adjusting
from meterlog.procedure.patterns.alternate import Alternating
from meterlog.procedure.patterns.back_off import BackingOff
from meterlog.procedure.patterns.base import Capture, Pattern, Progress
from meterlog.procedure.patterns.extremum import SeekingExtremum
from meterlog.procedure.patterns.simple import Confirm, Measuring, WarmingUp
from meterlog.procedure.patterns.threshold import CatchingIndicator
from meterlog.procedure.patterns.watch import Stillness
from meterlog.procedure.patterns.window import Window
from meterlog.quantity import Span

__all__ = ["Capture", "Confirm", "Pattern", "Progress", "pattern_for"]


def pattern_for(step: Step, pass_: Pass) -> Pattern:  # noqa: PLR0911 - one line for each pattern
    """As found and as left only look; the adjust pass runs the step as the file says."""
    looking = pass_ is not Pass.ADJUST
    match step:
        case Prepare():
            return Confirm("Press to go on.")
        case WarmUp():
            return WarmingUp(step)
        case SetSource():
            return _adjusting(step, Role.SOURCE)
        case Threshold():
            return CatchingIndicator(step, trims=not looking)
        case Alternate():
            return Alternating(step, trims=not looking)
        case Measure():
            return Measuring(step.channel, _stillness(step), _measure_window(step))
        case Adjust():
            return _measuring(step) if looking else _adjusting(step, Role.ADJUSTED)
        case Extremum() | BackOff():
            if looking:
                return Measuring(step.channel, _stillness(step), None)
            return SeekingExtremum(step) if isinstance(step, Extremum) else BackingOff(step)


def _stillness(step: Measure | Extremum | BackOff | Adjust | SetSource) -> Stillness:
    span = step.settle if isinstance(step, Measure) else step.settle_within
    return Stillness(span, step.dwell, step.lag)


def _measure_window(step: Measure) -> Window | None:
    return Window.around(step.target.base, step.tolerance) if step.target and step.tolerance else None


def _measuring(step: Adjust) -> Measuring:
    return Measuring(step.channel, _stillness(step), Window.around(step.target.base, step.tolerance))


def _adjusting(step: Adjust | SetSource, role: Role) -> Adjusting:
    window = Window.aimed_at(step.target.base, step.tolerance)
    frequency = step.frequency if isinstance(step, SetSource) else None
    about = f"Source at {frequency}. " if frequency else ""
    tolerance = None if step.settle else _as_far_as_the_window(window, step.settle_within)
    return Adjusting(
        step.channel, role, _stillness(step), window, step.hold, about=about, tolerance=tolerance
    )


def _as_far_as_the_window(window: Window, least: Span) -> Tolerance:
    """What an adjusted level must prove is that it stays in its window: in the middle that needs less."""
    return lambda level: max(least.half_width(level), window.room(level))
