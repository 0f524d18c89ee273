"""The parts of a procedure that a meter reads, each with its level, its window and the range it is read on.

The level a step is about is its target, or so many dB about the target of the step it refers to. It is read
on the range that the bench file names, else on the finest range that shows the whole window: the best that a
meter which chooses by itself can do.
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from meterlog.accuracy import InUse, Range, Signal
from meterlog.files import Location
from meterlog.procedure.checks.units import level_of
from meterlog.procedure.model import Procedure, Step
from meterlog.procedure.model.base import Table
from meterlog.procedure.signals import reads_of
from meterlog.quantity import Offset, Quantity, Span, Unit


class Look(NamedTuple):
    """One part of a step, the meter that reads it in `unit`, and its level where that is known."""

    place: Location
    step: Step
    part: Table
    channel: str
    meter: InUse
    unit: Unit
    level: Quantity | None
    frequency: Quantity | None
    signal: Signal


def looks(procedure: Procedure, meters: Mapping[str, InUse]) -> Iterator[Look]:
    """Of the channels whose meters are known and measure what is asked."""
    for read in reads_of(procedure):
        meter = meters.get(read.channel)
        if meter is not None and meter.capability is not None:
            unit, level = procedure.channel(read.channel).unit, _level(procedure, read.part)
            yield Look(
                read.place,
                read.step,
                read.part,
                read.channel,
                meter,
                unit,
                level,
                read.frequency,
                read.signal,
            )


def _level(procedure: Procedure, part: Table) -> Quantity | None:
    """The level that it is about, as far as the file tells; None for values that no channel shows."""
    if getattr(part, "own_scale", None) is not None:
        return None
    target, reference = getattr(part, "target", None), getattr(part, "reference", None)
    if not isinstance(target, Offset):
        return level_of(part)
    known: dict[str, Step] = {step.id: step for step in procedure.steps}
    about = level_of(known[reference]) if reference in known else None
    return target.about(about.base, about.scale) if about else None


def range_of(look: Look) -> Range | None:
    """Of a level the range that shows its whole window; else the finest that may be in use."""
    if look.level is None:
        return look.meter.finest
    span, value = getattr(look.part, "tolerance", None), look.level.base
    return look.meter.range_for((span.low(value), span.high(value)) if span else (value,))


def window_of(look: Look) -> float | None:
    """From limit to limit, base unit. Without a level only an absolute tolerance has a width."""
    span: Span | None = getattr(look.part, "tolerance", None)
    absolute = span is not None and span.kind is look.unit and getattr(look.part, "own_scale", None) is None
    if span is None or (look.level is None and not absolute):
        return None
    value = look.level.base if look.level else 0.0
    return span.high(value) - span.low(value)
