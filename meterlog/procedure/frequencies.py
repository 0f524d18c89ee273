"""Which frequency the signal has while a step reads it, as far as the file tells."""

from collections.abc import Iterator
from typing import NamedTuple

from meterlog.files import Location
from meterlog.procedure.model import Procedure, SetSource, Step
from meterlog.procedure.model.base import Table
from meterlog.procedure.parts import parts_of, steps_of
from meterlog.quantity import Quantity, Unit


class Read(NamedTuple):
    """A part of a step with the channel it is read on ("" for none) and the frequency there."""

    step: Step
    place: Location
    part: Table
    channel: str
    frequency: Quantity | None


def reads_of(procedure: Procedure) -> Iterator[Read]:
    """Every part of every step, in order.

    A frequency is the part's own, or that of the source set before it while no `setup` has come between.
    """
    set_to: Quantity | None = None
    for place, step in steps_of(procedure):
        for at, part in parts_of(place, step):
            if isinstance(part, SetSource):
                set_to = part.frequency
            elif getattr(part, "setup", ""):
                set_to = None  # who knows what was switched
            name = getattr(part, "channel", None) or getattr(step, "channel", None) or ""
            yield Read(step, at, part, name, _own(part) or set_to)


def frequencies_of(procedure: Procedure) -> dict[tuple[str, str], float]:
    """Hertz, by the step's id and the name that the part's values are kept under, "" for the step's own."""
    return {
        (read.step.id, name_of(read.part)): read.frequency.base
        for read in reads_of(procedure)
        if read.frequency is not None
    }


def name_of(part: Table) -> str:
    """What tells the parts of a step apart: the label of a row, the name of a condition or a side."""
    return getattr(part, "label", "") or (getattr(part, "name", "") or "")


def _own(part: Table) -> Quantity | None:
    """Of the part itself; a row over frequency has it as its place."""
    own, at = getattr(part, "frequency", None), getattr(part, "at", None)
    over_hertz = isinstance(at, Quantity) and at.scale.unit is Unit.HERTZ
    return at if over_hertz else own
