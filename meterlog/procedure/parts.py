"""The parts of a procedure: its steps, and the tables inside them."""

from collections.abc import Iterator

from meterlog.files import Location
from meterlog.procedure.model import Procedure, Step
from meterlog.procedure.model.base import Table

Part = tuple[Location, Table]
"""A step, or a table inside one that has fields of its own (a condition), with its place."""


def steps_of(procedure: Procedure) -> Iterator[tuple[Location, Step]]:
    for index, step in enumerate(procedure.steps):
        yield ("step", index), step


def parts_of(place: Location, step: Step) -> Iterator[Part]:
    """The step itself, then the tables of each of its lists of tables."""
    yield place, step
    for field in type(step).model_fields:
        value = getattr(step, field)
        if isinstance(value, list | tuple):
            for number, part in enumerate(value):
                if isinstance(part, Table):
                    yield (*place, field, number), part
