"""Guards that would trip although all goes as it should: at a level that a step is brought to, at what is
still stored when the unit is switched off, or because nothing is left then.
"""

from collections.abc import Iterator

from meterlog.files import Location
from meterlog.procedure.checks.finding import Finding, warning, watched_by
from meterlog.procedure.model import Guard, PowerDown, Procedure, Threshold
from meterlog.procedure.parts import Part, parts_of, steps_of
from meterlog.quantity import Quantity, Span


def at_the_end(procedure: Procedure) -> Iterator[Finding]:
    """Off is 0: a lower limit above that is passed. An upper one is, by a charge that is measured."""
    for index, guard in enumerate(procedure.guards):
        off = next((step for step in watched_by(guard, procedure) if isinstance(step, PowerDown)), None)
        if off is None:
            continue
        earlier = "end it with to_step at an earlier step"
        if guard.never_below is not None and guard.never_below.base > 0.0:
            what = f"would trip when {off.id!r} switches the unit off; {earlier}"
            yield Finding(("guard", index, "never_below"), what)
        if guard.channel == off.channel and guard.never_above and guard.never_above.base <= off.below.base:
            what = (
                f"would trip at a stored charge that {off.id!r} is to measure down to {off.below}; {earlier}"
            )
            yield Finding(("guard", index, "never_above"), what)


def at_a_level(procedure: Procedure) -> Iterator[Finding]:
    """Of each step that a guard watches on its own channel: the level, then the edges of its window."""
    for place, step in steps_of(procedure):
        guards = [guard for guard in procedure.guards if step in watched_by(guard, procedure)]
        for where, part in parts_of(place, step):
            channel = getattr(part, "channel", None) or getattr(step, "channel", None)
            span = getattr(part, "tolerance", None) or getattr(step, "tolerance", None)
            for guard in guards:
                if guard.channel == channel and getattr(part, "own_scale", None) is None:
                    yield from _passed(guard, (where, part), span)


def _passed(guard: Guard, located: Part, span: Span | None) -> Iterator[Finding]:
    place, part = located
    for field in ("target", "expected"):
        level = getattr(part, field, None)
        if isinstance(level, Quantity):
            yield from _by(guard, (*place, field), level, span)
    if isinstance(part, Threshold) and part.no_higher_than is not None:
        yield from _turned_up(guard, (*place, "no_higher_than"), part.no_higher_than)


def _turned_up(guard: Guard, place: Location, most: Quantity) -> Iterator[Finding]:
    if guard.never_above is not None and most.base >= guard.never_above.base:
        yield warning(place, f"the guard {guard.name!r} would trip first, at {guard.never_above}; write less")


def _by(guard: Guard, place: Location, level: Quantity, span: Span | None) -> Iterator[Finding]:
    low, high = (span.low(level.base), span.high(level.base)) if span else (level.base, level.base)
    hair = 1e-9 * (high - low)  # an edge on the limit is on it, whatever it is as a float
    above = (guard.never_above, 1.0, high) if guard.never_above else None
    below = (guard.never_below, -1.0, low) if guard.never_below else None
    for limit, sign, edge in filter(None, (above, below)):
        if limit.scale.unit is not level.scale.unit:
            continue  # told of the one that does not fit its channel
        if sign * level.base > sign * limit.base:
            name = guard.name
            yield Finding(
                place, f"{level} is beyond {limit}, where the guard {name!r} would trip; change one"
            )
        elif span and sign * edge >= sign * limit.base - hair:
            what = (
                f"{level} within {span} reaches the limit of the guard {guard.name!r}, {limit}: "
                "a level in tolerance can trip it; move the limit, or narrow the tolerance"
            )
            yield warning(place, what)
