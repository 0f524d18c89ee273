"""Steps about an extremum or an end stop: as found the level is only recorded."""

from functools import partial

from meterlog.procedure.model import BackOff, Extremum, StopBackOff
from meterlog.procedure.patterns.back_off import BackingOff
from meterlog.procedure.patterns.base import Pattern
from meterlog.procedure.patterns.coarse import CoarseThenFine
from meterlog.procedure.patterns.end_stop import BackingOffFromStop
from meterlog.procedure.patterns.extremum import SeekingExtremum
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.revisit import Revisiting
from meterlog.procedure.patterns.simple import Measuring
from meterlog.procedure.patterns.watch import Stillness


@pattern_for.register
def _(step: Extremum, moment: Moment) -> Pattern:
    if moment.looking:
        return _measuring(step)
    return (
        SeekingExtremum(step, moment.ruling) if step.coarse is None else CoarseThenFine(step, moment.ruling)
    )


@pattern_for.register
def _(step: BackOff, moment: Moment) -> Pattern:
    if moment.looking:
        return _measuring(step)
    fresh = partial(BackingOff, step, moment.ruling)
    return Revisiting(fresh, step.tolerance, step.extremum) if step.revisit else fresh()


@pattern_for.register
def _(step: StopBackOff, moment: Moment) -> Pattern:
    if moment.looking:
        return _measuring(step)
    fresh = partial(BackingOffFromStop, step, moment.ruling)
    return Revisiting(fresh, step.tolerance, step.stop) if step.revisit else fresh()


def _measuring(step: Extremum | BackOff | StopBackOff) -> Measuring:
    return Measuring(step.channel, Stillness(step.settle_within, step.dwell, step.lag), None)
