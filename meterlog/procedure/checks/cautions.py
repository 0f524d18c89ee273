"""Steps that can hurt somebody and say nothing of it.

Demanded is a caution where a level or a limit is above 50 V. The limits for what may be touched that are
quoted from IEC 61010-1 are 60 V DC and 35 V peak AC (25 V rms of a sine): this check is a reminder about
texts, no judgement of what is dangerous.
"""

from collections.abc import Iterator

from meterlog.procedure.checks.finding import Finding, warning, watched_by
from meterlog.procedure.model import Guard, Procedure, Safety, Step
from meterlog.procedure.parts import parts_of, steps_of
from meterlog.quantity import Quantity, Unit

HIGH_V = 50.0


def missing(procedure: Procedure) -> Iterator[Finding]:
    """A caution of the step itself counts, one of a step before it that only gets things ready, or a gate."""
    cautioned = False
    for place, step in steps_of(procedure):
        cautioned = cautioned or isinstance(step, Safety) or bool(step.caution and not step.yields)
        if cautioned or step.caution:
            continue
        guards = [guard for guard in procedure.guards if _watches(guard, procedure, step)]
        high = next((level for level in _levels(step, guards) if _is_high(level)), None)
        if high is not None:
            yield Finding(
                place, f"{high} is above {HIGH_V:g} V: write a `caution` here, or in a prepare step before"
            )
        elif guards:
            yield warning(
                place,
                f"the guard {guards[0].name!r} watches here: "
                "write a `caution` that says why, here or in a prepare step before",
            )


def _watches(guard: Guard, procedure: Procedure, step: Step) -> bool:
    return guard.channel in step.channels and step in watched_by(guard, procedure)


def _levels(step: Step, guards: list[Guard]) -> Iterator[Quantity]:
    """Every level that the step, its parts or its guards name."""
    for _, part in (*parts_of((), step), *(((), guard) for guard in guards)):
        for field in type(part).model_fields:
            value = getattr(part, field)
            if isinstance(value, Quantity):
                yield value


def _is_high(level: Quantity) -> bool:
    return level.scale.unit is Unit.VOLT and abs(level.base) > HIGH_V
