"""Steps about one level: measure it, bring it into a window, leave it alone if it is inside already."""

from dataclasses import replace

from meterlog.detect import Tolerance
from meterlog.procedure.events import Role
from meterlog.procedure.model import Adjust, Measure, SetSource
from meterlog.procedure.patterns.adjusting import Adjusting
from meterlog.procedure.patterns.base import Pattern, Progress
from meterlog.procedure.patterns.delegating import Delegating
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.ruling import Narrowing, Ruling
from meterlog.procedure.patterns.simple import Measuring
from meterlog.procedure.patterns.sourcing import Sourcing
from meterlog.procedure.patterns.watch import Stillness
from meterlog.procedure.patterns.window import Window
from meterlog.quantity import Span

LEFT_ALONE = "inside as found, left alone"


@pattern_for.register
def _(step: Measure, moment: Moment) -> Pattern:
    still = Stillness(step.settle_within, step.dwell, step.lag)
    window = Window.around(step.aim.base, step.tolerance) if step.tolerance else None
    return Measuring(step.channel, still, window and _foreseen(window, step, moment))


@pattern_for.register
def _(step: SetSource, moment: Moment) -> Pattern:
    adjusting = _adjusting(
        step, Role.SOURCE, moment, about=f"Source at {step.frequency}. " if step.frequency else ""
    )
    return Sourcing(step, step.level, adjusting) if step.level else adjusting


@pattern_for.register
def _(step: Adjust, moment: Moment) -> Pattern:
    if moment.looking:
        return _measuring(step, moment)
    turning = _adjusting(step, Role.ADJUSTED, moment)
    return IfNeeded(_measuring(step, moment), turning, moment.ruling) if step.only_if_needed else turning


def _foreseen(window: Window, step: Measure | Adjust, moment: Moment) -> Window:
    return window.narrowed(moment.ruling.likely(window, step.channel, Role.MEASURED))


def _stillness(step: Adjust | SetSource) -> Stillness:
    return Stillness(step.settle_within, step.dwell, step.lag)


def _measuring(step: Adjust, moment: Moment) -> Measuring:
    window = Window.around(step.aim.base, step.tolerance)
    return Measuring(step.channel, _stillness(step), _foreseen(window, step, moment))


def _adjusting(step: Adjust | SetSource, role: Role, moment: Moment, *, about: str = "") -> Adjusting:
    window, narrowing = Window.aimed_at(step.aim.base, step.tolerance), Narrowing(moment.ruling)
    narrowing.foresee(window, step.channel, role)
    known_to = None if step.settle else _as_far_as_the_window(narrowing.of(window), step.settle_within)
    return Adjusting(
        step.channel,
        role,
        _stillness(step),
        window,
        step.hold,
        about=about,
        tolerance=known_to,
        narrowing=narrowing,
    )


def _as_far_as_the_window(window: Window, least: Span) -> Tolerance:
    """What an adjusted level must prove is that it stays in its window: in the middle that needs less."""
    return lambda level: max(least.half_width(level), window.room(level))


class IfNeeded(Delegating):
    """Measures first; what passes by the rule is left alone, and only what does not is adjusted."""

    def __init__(self, measuring: Measuring, adjusting: Adjusting, ruling: Ruling) -> None:
        self.channel = measuring.channel
        self._ruling = ruling
        self._adjusting = adjusting
        self.at_hand: Pattern = measuring

    def passed(self, progress: Progress) -> Progress:
        if self.at_hand is self._adjusting:
            return progress
        if self._ruling.passes(*progress.captures):
            return replace(progress, reason=LEFT_ALONE)
        self.at_hand = self._adjusting
        return Progress(progress.motion)  # the as-found pass has kept the level already
