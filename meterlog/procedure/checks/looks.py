"""The parts of a procedure that a meter reads, each with its level, its window and the range it is read on.

The level a step is about is its target, or so many dB about the target of the step it refers to. It is read
on the range that the bench file names, else on the finest range that shows the whole window: the best that a
meter which chooses by itself can do.

A frequency is the step's own, or that of the source set before it while no `setup` has come between.
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from meterlog.accuracy import InUse, Range
from meterlog.files import Location
from meterlog.procedure.checks.finding import Part, parts_of, steps_of
from meterlog.procedure.checks.units import level_of
from meterlog.procedure.model import Procedure, SetSource, Step
from meterlog.procedure.model.base import Table
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


def looks(procedure: Procedure, meters: Mapping[str, InUse]) -> Iterator[Look]:
    frequency: Quantity | None = None
    for step, (place, part), name in _read_parts(procedure):
        if isinstance(part, SetSource):
            frequency = part.frequency
        elif getattr(part, "setup", ""):
            frequency = None  # who knows what was switched
        if name in meters and meters[name].capability is not None:
            unit, level = procedure.channel(name).unit, _level(procedure, part)
            own = getattr(part, "frequency", None)
            yield Look(place, step, part, name, meters[name], unit, level, own or frequency)


def _read_parts(procedure: Procedure) -> Iterator[tuple[Step, Part, str]]:
    """Every part with its step and the channel it is read on: its own, or that of its step."""
    for place, step in steps_of(procedure):
        for located in parts_of(place, step):
            yield step, located, getattr(located[1], "channel", None) or getattr(step, "channel", None) or ""


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
