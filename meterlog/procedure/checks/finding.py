"""What a check found."""

from collections.abc import Iterator
from dataclasses import dataclass

from meterlog.files import Location, Severity
from meterlog.procedure.model import Guard, Procedure, Step
from meterlog.procedure.parts import Part, parts_of, steps_of


@dataclass(frozen=True, slots=True)
class Finding:
    """`place` is one in the procedure with its loops written out."""

    place: Location
    message: str
    severity: Severity = Severity.ERROR


def warning(place: Location, message: str) -> Finding:
    return Finding(place, message, Severity.WARNING)


def all_parts(procedure: Procedure) -> Iterator[Part]:
    for place, step in steps_of(procedure):
        yield from parts_of(place, step)


def watched_by(guard: Guard, procedure: Procedure) -> list[Step]:
    """The steps that a guard watches; none where its own steps are not there, which is told elsewhere."""
    ids = [step.id for step in procedure.steps]
    if {guard.from_step, guard.to_step} - {None, *ids}:
        return []
    first, last = guard.from_step or ids[0], guard.to_step or ids[-1]
    return procedure.steps[ids.index(first) : ids.index(last) + 1]
