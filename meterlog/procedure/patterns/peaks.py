"""Steps about an extremum: as found its level is only recorded."""

from meterlog.procedure.model import BackOff, Extremum
from meterlog.procedure.patterns.back_off import BackingOff
from meterlog.procedure.patterns.base import Pattern
from meterlog.procedure.patterns.extremum import SeekingExtremum
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.simple import Measuring
from meterlog.procedure.patterns.watch import Stillness


@pattern_for.register
def _(step: Extremum, moment: Moment) -> Pattern:
    return _measuring(step) if moment.looking else SeekingExtremum(step)


@pattern_for.register
def _(step: BackOff, moment: Moment) -> Pattern:
    return _measuring(step) if moment.looking else BackingOff(step)


def _measuring(step: Extremum | BackOff) -> Measuring:
    return Measuring(step.channel, Stillness(step.settle_within, step.dwell, step.lag), None)
