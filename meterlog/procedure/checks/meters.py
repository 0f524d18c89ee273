"""What the meters of a bench cannot do, as far as it is known what they can.

The level a step is about is its target, or so many dB about the target of the step it refers to. It is read
on the range that the bench file names, else on the finest range that shows the whole window: the best that a
meter which chooses by itself can do. So a complaint is never about an unlucky choice of range.

    window   from the low to the high limit; it must be two counts of that range at least
    settle   half-width; below one count it rests on averaging alone
    dwell    three readings are the fewest that say something of scatter

A frequency is the step's own, or that of the source set before it while no `setup` has come between. Beyond
the meter's band a level is wrong by an unknown factor. That spoils levels; where only levels at one frequency
are compared (an extremum, a fall, dB about another step) it does not, so there it is a warning.
"""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from meterlog.accuracy import InUse, Range
from meterlog.files import Location
from meterlog.procedure.checks.finding import Finding, Part, parts_of, steps_of, warning
from meterlog.procedure.checks.units import level_of
from meterlog.procedure.model import PowerDown, Procedure, SetSource, Step
from meterlog.procedure.model.base import Table
from meterlog.quantity import Offset, Quantity, Span, Unit, readable_scale

LEAST_COUNTS = 2.0
LEAST_READINGS = 3
_REMEDY = "take a finer meter or range"


class _Look(NamedTuple):
    """One part of a step, the meter that reads it in `unit`, and its level where that is known."""

    place: Location
    part: Table
    meter: InUse
    unit: Unit
    level: Quantity | None
    frequency: Quantity | None


def meter_findings(procedure: Procedure, meters: Mapping[str, InUse]) -> Iterator[Finding]:
    """`meters` by the names of their channels; of others nothing is known, and nothing said."""
    for index, channel in enumerate(procedure.channels):
        meter = meters.get(channel.name)
        if meter is not None and meter.capability is None:
            asked = f"{meter.function} {meter.coupling}".strip()
            yield Finding(("channel", index, "name"), f"{_named(meter)} measures no {asked}; use another one")
    for look in _looks(procedure, meters):
        for check in (_of_dwell, _of_level, _of_charge, _of_spans, _of_frequency):
            yield from check(look)


def _looks(procedure: Procedure, meters: Mapping[str, InUse]) -> Iterator[_Look]:
    frequency: Quantity | None = None
    for (place, part), name in _read_parts(procedure):
        if isinstance(part, SetSource):
            frequency = part.frequency
        elif getattr(part, "setup", ""):
            frequency = None  # who knows what was switched
        if name in meters and meters[name].capability is not None:
            unit, level = procedure.channel(name).unit, _level(procedure, part)
            own = getattr(part, "frequency", None)
            yield _Look(place, part, meters[name], unit, level, own or frequency)


def _read_parts(procedure: Procedure) -> Iterator[tuple[Part, str]]:
    """Every part with the channel it is read on: its own, or that of its step."""
    for place, step in steps_of(procedure):
        for located in parts_of(place, step):
            yield located, getattr(located[1], "channel", None) or getattr(step, "channel", None) or ""


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


def _of_level(look: _Look) -> Iterator[Finding]:
    if look.level is None:
        return
    place, meter, range_ = (*look.place, "target"), _named(look.meter), _range(look)
    if range_ is None:
        yield Finding(place, f"{look.level} is more than {meter} shows; take another meter or range")
        return
    lowest = look.meter.capability.lowest * range_.full_scale if look.meter.capability else 0.0
    if abs(look.level.base) < lowest:
        least = _shown(lowest, look.unit)
        yield warning(place, f"{look.level} is under {least}, the least {meter} is meant for; {_REMEDY}")


def _of_charge(look: _Look) -> Iterator[Finding]:
    """A meter that chooses its range by itself shows the limit on the finest one that holds it."""
    if not isinstance(look.part, PowerDown):
        return
    place, below = (*look.place, "below"), look.part.below
    range_ = look.meter.range_for((below.base,))
    if range_ is not None and _is_less(below.base, LEAST_COUNTS * range_.count):
        count = _shown(range_.count, look.unit)
        yield Finding(place, f"{below} is under two counts of {_named(look.meter)}, {count} each; write more")


def _range(look: _Look) -> Range | None:
    """Of a level the range that shows its whole window; else the finest that may be in use."""
    if look.level is None:
        return look.meter.finest
    span, value = getattr(look.part, "tolerance", None), look.level.base
    return look.meter.range_for((span.low(value), span.high(value)) if span else (value,))


def _of_spans(look: _Look) -> Iterator[Finding]:
    range_ = _range(look)
    if range_ is None:
        return
    count = f"one count of {_named(look.meter)} is {_shown(range_.count, look.unit)}"
    window, half = _window(look), _half(look)
    if window is not None and _is_less(window, LEAST_COUNTS * range_.count):
        message = f"the window is under two counts, {count}; widen it, or {_REMEDY}"
        yield Finding((*look.place, "tolerance"), message)
    if half is not None and _is_less(half, range_.count):
        yield warning((*look.place, "settle"), f"finer than the display, {count}; widen it, or {_REMEDY}")


def _window(look: _Look) -> float | None:
    """From limit to limit, base unit. Without a level only an absolute tolerance has a width."""
    span: Span | None = getattr(look.part, "tolerance", None)
    absolute = span is not None and span.kind is look.unit and getattr(look.part, "own_scale", None) is None
    if span is None or (look.level is None and not absolute):
        return None
    value = look.level.base if look.level else 0.0
    return span.high(value) - span.low(value)


def _half(look: _Look) -> float | None:
    span: Span | None = getattr(look.part, "settle", None)
    if span is None or (look.level is None and span.kind is not look.unit):
        return None
    return span.half_width(look.level.base if look.level else 0.0)


def _is_less(value: float, least: float) -> bool:
    """By more than the rounding of floats: two counts written as 0.2 mV are two counts."""
    return value < least * (1 - 1e-9)


def _of_dwell(look: _Look) -> Iterator[Finding]:
    """Only where it is written: what everybody has by default is nobody's mistake."""
    dwell, least_s = (
        getattr(look.part, "dwell", 0.0),
        LEAST_READINGS * look.meter.specification.reading_period_s,
    )
    if "dwell" in look.part.model_fields_set and _is_less(dwell, least_s):
        yield warning(
            (*look.place, "dwell"),
            f"shorter than three readings of {_named(look.meter)}; write at least {least_s:g} s",
        )


def _of_frequency(look: _Look) -> Iterator[Finding]:
    bands, frequency = look.meter.bands(), look.frequency
    if frequency is None or not bands or any(band.holds(frequency.base) for band in bands):
        return
    edges = [(_shown(band.low, Unit.HERTZ), _shown(band.high, Unit.HERTZ)) for band in bands]
    meant = " and ".join(f"{low} to {high}" for low, high in edges)
    own = getattr(look.part, "frequency", None) is not None
    judge = Finding if isinstance(getattr(look.part, "target", None), Quantity) else warning
    yield judge(
        (*look.place, "frequency") if own else look.place,
        f"{frequency} is outside {meant}, which {_named(look.meter)} is meant for; take another meter",
    )


def _named(meter: InUse) -> str:
    return f"{meter.meter!r} ({meter.specification.title})"


def _shown(value: float, unit: Unit) -> str:
    return str(Quantity(value, readable_scale(value, unit)))
