"""From the record of an adjustment to the trace that a chart draws."""

import math
from collections.abc import Iterator

from meterlog.procedure import Pass, SettledValue, StepEnded, plan_of
from meterlog.quantity import Scale
from meterlog.report.charts import Limits, Mark, Trace
from meterlog.report.model import Chart
from meterlog.report.session import Session
from meterlog.report.thinning import Point, thin

_NS_PER_S = 1e9


def charts_of(session: Session) -> Iterator[Chart]:
    """One for each adjustment that stands, and for each channel where its conditions use several."""
    for planned in plan_of(session.procedure):
        ending = session.course.ending(planned.place)
        if planned.pass_ is Pass.ADJUST and planned.step.turns and ending:
            channels = planned.step.channels
            yield from (_chart(session, planned.step.title, ending, channel) for channel in channels)


def _chart(session: Session, title: str, ending: StepEnded, channel: str) -> Chart:
    unit, step = session.procedure.channel(channel).unit, session.step(ending.step)
    scale = session.channel_scale(channel, unit, step)
    values = [value for value in session.course.counting(ending.place) if value.channel == channel]
    duration_s = _seconds(ending, ending.at_ns)
    trace = Trace(
        unit=f"{scale.symbol}{scale.bracket}",
        duration_s=duration_s,
        points=tuple(thin(_points(session, channel, ending, scale), duration_s)),
        marks=tuple(mark for value in values if (mark := _mark(value, ending, scale))),
        limits=tuple(dict.fromkeys(_limits(value, scale) for value in values)),
    )
    return Chart(f"{title} ({channel})", trace)


def _points(session: Session, channel: str, ending: StepEnded, scale: Scale) -> Iterator[Point]:
    # A step begins at the moment of the reading that ended the one before; the last reading is its own.
    for measured in session.readings(channel, ending.began_ns + 1, ending.at_ns + 1):
        yield Point(_seconds(ending, measured.at_ns), _shown(measured.reading.value, scale))


def _mark(value: SettledValue, ending: StepEnded, scale: Scale) -> Mark | None:
    number = _shown(value.value, scale)
    return None if number is None else Mark(_seconds(ending, value.at_ns), number, str(value.number))


def _limits(value: SettledValue, scale: Scale) -> Limits:
    return Limits(*(_shown(limit, scale) for limit in (value.target, value.low, value.high)))


def _shown(base: float | None, scale: Scale) -> float | None:
    """None also for a level of nothing, which no axis can hold."""
    number = None if base is None else scale.from_base(base)
    return number if number is not None and math.isfinite(number) else None


def _seconds(ending: StepEnded, at_ns: int) -> float:
    return (at_ns - ending.began_ns) / _NS_PER_S
