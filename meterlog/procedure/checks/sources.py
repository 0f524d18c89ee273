"""What rests on other steps, is typed in or is computed: whether conditions, roles and units fit."""

from collections.abc import Iterator
from typing import Any

from meterlog.files import Location
from meterlog.procedure.checks.finding import Finding
from meterlog.procedure.events import Role
from meterlog.procedure.model import (
    Alternate,
    BackOff,
    Derived,
    Extremum,
    Manual,
    Match,
    Procedure,
    Rows,
    Sign,
    Step,
    Threshold,
)
from meterlog.procedure.model.base import Source
from meterlog.procedure.parts import parts_of, steps_of
from meterlog.quantity import Quantity, Unit

_INPUTS: dict[str, tuple[tuple[Unit, Unit], ...]] = {
    "current": ((Unit.VOLT, Unit.OHM),),
    "power": ((Unit.VOLT, Unit.OHM), (Unit.VOLT, Unit.AMPERE), (Unit.AMPERE, Unit.VOLT)),
    "cents": ((Unit.HERTZ, Unit.HERTZ),),
}
_CENTS_OF_VOLTS = ((Unit.VOLT, Unit.VOLT),)
_RESULTS = {"current": Unit.AMPERE, "power": Unit.WATT, "cents": Unit.CENT}
_EXAMPLES = {Unit.NONE: "1 %", Unit.CENT: "1 cent"}


def sources(procedure: Procedure) -> Iterator[Finding]:
    """Only of steps all of whose sources and channels are there; what is not is found elsewhere."""
    for place, step in _sound(procedure):
        for source in step.sources:
            yield from _ways_to_name(place, procedure.step(source.step), source)


def units(procedure: Procedure) -> Iterator[Finding]:
    for place, step in _sound(procedure):
        if any(source.condition not in conditions_of(procedure.step(source.step)) for source in step.sources):
            continue
        match step:
            case Manual():
                yield from _spans(step.show.unit, place, step, ("target", "tolerance", "uncertainty"))
                yield from _reference(procedure, place, step, step.show.unit)
            case Derived():
                yield from _derived(procedure, place, step)
            case Match():
                yield from _match(procedure, place, step)
            case _:
                for where, part in parts_of(place, step):
                    channel = getattr(part, "channel", None)
                    if channel is not None:
                        yield from _reference(procedure, where, part, procedure.channel(channel).unit)


def signatures(procedure: Procedure) -> Iterator[Finding]:
    for place, step in list(steps_of(procedure))[:-1]:
        if isinstance(step, Sign):
            yield Finding(place, "who signs has seen everything: a signature is the last step")


def _sound(procedure: Procedure) -> Iterator[tuple[Location, Step]]:
    channels = {channel.name for channel in procedure.channels}
    earlier: set[str] = set()
    for place, step in steps_of(procedure):
        if earlier >= set(step.needs) and channels >= set(step.channels):
            yield place, step
            if step.yields:
                earlier.add(step.id)


def _ways_to_name(place: Location, step: Step, source: Source) -> Iterator[Finding]:
    names, roles = conditions_of(step), _roles_of(step)
    if source.condition not in names:
        known = ", ".join(repr(name) for name in names if name)
        yield Finding(place, f"say which condition of step {step.id!r}: {known or 'it has none'}")
    if source.role is not None and source.role not in roles:
        yield Finding(
            place, f"step {step.id!r} has no role {str(source.role)!r}; it has {', '.join(roles) or 'none'}"
        )


def conditions_of(step: Step) -> tuple[str, ...]:
    """The names under which a step has values; "" is its own."""
    match step:
        case Alternate():
            return tuple(condition.name for condition in step.condition)
        case Match():
            return ("", *(side.name for side in step.side))
        case Rows():
            return tuple(row.label for row in step.rows)
        case _:
            return ("",)


def _roles_of(step: Step) -> tuple[Role, ...]:
    """Of a step that has several values under one name."""
    match step:
        case Threshold():
            return Role.LIT, Role.UNLIT
        case Extremum() | BackOff():
            return Role.PEAK, Role.ADJUSTED, Role.MEASURED
        case Derived(channel=str()):
            return Role.MEASURED, Role.DERIVED
        case _:
            return ()


def _unit_of(procedure: Procedure, source: Source) -> Unit:
    """The unit of what a step comes to."""
    step = procedure.step(source.step)
    parts = [*getattr(step, "side", ()), *getattr(step, "condition", ())]
    channels = {part.name: part.channel for part in parts}
    if source.condition in channels:
        return procedure.channel(channels[source.condition]).unit
    own = step.own_scale if source.role is not Role.MEASURED or not step.channels else None
    return procedure.channel(step.channels[0]).unit if own is None else own.unit


def _reference(procedure: Procedure, place: Location, part: Any, unit: Unit) -> Iterator[Finding]:
    reference = getattr(part, "reference", None)
    if reference is not None:
        yield from _same_unit(procedure, (*place, "reference"), Source(step=reference), unit)


def _same_unit(procedure: Procedure, place: Location, source: Source, unit: Unit) -> Iterator[Finding]:
    found = _unit_of(procedure, source)
    if found is not unit:
        yield Finding(place, f"step {source.step!r} comes to {_named(found)}, and here it is {_named(unit)}")


def _match(procedure: Procedure, place: Location, step: Match) -> Iterator[Finding]:
    unit = procedure.channel(step.moving.channel).unit
    yield from _spans(unit, place, step, ("tolerance", "settle"))
    if step.against is not None:
        yield from _same_unit(procedure, (*place, "against"), step.against, unit)
    if step.staying is not None and procedure.channel(step.staying.channel).unit is not unit:
        yield Finding(place, "the two sides are in different units: they cannot agree")


def _derived(procedure: Procedure, place: Location, step: Derived) -> Iterator[Finding]:
    one = _unit_of(procedure, step.of) if step.of else procedure.channel(step.channels[0]).unit
    other = _other_unit(procedure, step)
    allowed = _CENTS_OF_VOLTS if step.volts_per_octave else _INPUTS.get(step.kind, ((one, one),))
    if (one, other) not in allowed:
        known = " or ".join(f"{_named(a)} and {_named(b)}" for a, b in allowed)
        yield Finding(place, f"a {step.kind} of {_named(one)} and {_named(other)} is none: it is of {known}")
    result = one if step.kind == "difference" else _RESULTS.get(step.kind, Unit.NONE)
    if step.unit is not result:
        symbol = step.own_scale.symbol
        yield Finding((*place, "show"), f"a {step.kind} comes to {_named(result)}, not to {symbol}")
    yield from _spans(step.unit, place, step, ("target", "tolerance"))
    yield from _spans(one, place, step, ("settle",))
    yield from _spans(Unit.OHM, place, step, ("resistor_tolerance",))
    yield from _above_nothing(place, step)


def _above_nothing(place: Location, step: Derived) -> Iterator[Finding]:
    octave, resistor = step.volts_per_octave, step.resistor
    if octave is not None and not (octave.scale.unit is Unit.VOLT and octave.base > 0.0):
        yield Finding((*place, "volts_per_octave"), f"{octave} must be a voltage above 0, such as 1 V")
    if resistor is not None and not resistor.base > 0.0:
        yield Finding((*place, "resistor"), f"{resistor} must be above 0")


def _other_unit(procedure: Procedure, step: Derived) -> Unit:
    if step.against is not None:
        return _unit_of(procedure, step.against)
    stated = step.nominal or step.resistor
    assert stated is not None
    return stated.scale.unit


def _spans(unit: Unit, place: Location, part: Any, fields: tuple[str, ...]) -> Iterator[Finding]:
    """Target and distances of a part whose values are in `unit`."""
    target = getattr(part, "target", None) if "target" in fields else None
    if isinstance(target, Quantity) and target.scale.unit is not unit:
        yield Finding((*place, "target"), f"{target} is no level of what is in {_named(unit)}")
        return
    for field in fields:
        span = getattr(part, field) if field != "target" else None
        if span is not None and span.kind not in ("dB", "%", unit):
            yield Finding((*place, field), f"{span} does not fit what is in {_named(unit)}")
        elif span is not None and isinstance(target, Quantity) and span.half_width(target.base) <= 0.0:
            example = _EXAMPLES.get(unit, f"1 m{unit.value}")
            yield Finding((*place, field), f"{span} of {target} is nothing; write an absolute one: {example}")


def _named(unit: Unit) -> str:
    return unit.value or "a ratio"
