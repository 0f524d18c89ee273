"""Units: what is no level of its channel, and distances that do not fit it."""

from collections.abc import Iterator
from typing import NamedTuple

from meterlog.files import Location
from meterlog.procedure.checks.finding import Finding, all_parts
from meterlog.procedure.model import BackOff, Guard, Procedure
from meterlog.procedure.model.base import Table
from meterlog.procedure.parts import Part, steps_of
from meterlog.quantity import Quantity, Unit

OF_THE_VALUE = ("tolerance", "uncertainty")
OF_THE_CHANNEL = ("settle", "bracket", "fall", "drift_per_minute", "within")


class _Values(NamedTuple):
    """What values are in; `words` say it in a message."""

    unit: Unit
    words: str


def misfits(procedure: Procedure) -> Iterator[Finding]:
    units = {channel.name: channel.unit for channel in procedure.channels}
    for place, part in all_parts(procedure):
        unit = units.get(getattr(part, "channel", None) or "")
        read = None if unit is None else _Values(unit, f"a channel in {unit.value}")
        own = getattr(part, "own_scale", None)
        yield from _of_spans(read, (place, part), OF_THE_CHANNEL)
        yield from _of_value(
            read if own is None else _Values(own.unit, f"a value in {own.symbol}"), (place, part)
        )
    for index, guard in enumerate(procedure.guards):
        if guard.channel in units:
            yield from _of_guard(units[guard.channel], ("guard", index), guard)


def _of_value(values: _Values | None, located: Part) -> Iterator[Finding]:
    place, part = located
    target = level_of(part)
    if values is not None and target is not None and target.scale.unit != values.unit:
        yield Finding((*place, "target"), f"{target} is no level of {values.words}; look at the unit")
    yield from _of_spans(values, located, OF_THE_VALUE)


def _of_spans(values: _Values | None, located: Part, fields: tuple[str, ...]) -> Iterator[Finding]:
    place, part = located
    target = level_of(part)
    for field in fields:
        span = getattr(part, field, None)
        if values is None or span is None:
            continue
        if span.kind not in ("dB", "%", values.unit):
            yield Finding((*place, field), f"{span} does not fit {values.words}; write dB, % or that unit")
        elif target is not None and span.half_width(target.base) <= 0:
            advice = f'write an absolute one, for example "1 m{values.unit.value}"'
            yield Finding((*place, field), f"{span} of {target} is nothing; {advice}")


def level_of(part: Table) -> Quantity | None:
    """Its target, where that is a level; one in dB about another step is only known in the session."""
    target = getattr(part, "target", None)
    return target if isinstance(target, Quantity) else None


def _of_guard(unit: Unit, place: Location, guard: Guard) -> Iterator[Finding]:
    for field, limit in (("never_above", guard.never_above), ("never_below", guard.never_below)):
        if limit is not None and limit.scale.unit is not unit:
            yield Finding((*place, field), f"{limit} is no level of a channel in {unit.value}")


def falls(procedure: Procedure) -> Iterator[Finding]:
    """Beside the fall, the bracket and the tolerance must be small, or the extremum itself would do."""
    for place, step in steps_of(procedure):
        if isinstance(step, BackOff):
            for field, span in (("bracket", step.bracket), ("tolerance", step.tolerance)):
                if span.kind == step.fall.kind and span.amount >= step.fall.amount:
                    yield Finding((*place, field), f"{span} must be less than the fall of {step.fall}")
