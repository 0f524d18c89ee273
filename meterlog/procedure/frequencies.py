"""Which frequency the signal has while a step reads it, as far as the file tells."""

from collections.abc import Iterator, Mapping
from typing import NamedTuple

from meterlog.files import Location
from meterlog.procedure.model import Procedure, Rows, SetSource, Step
from meterlog.procedure.model.base import Table
from meterlog.procedure.parts import parts_of, steps_of
from meterlog.quantity import Quantity, Unit

Frequencies = Mapping[tuple[str, str], float | None]
"""Hertz, by the step's id and the name that the part's values are kept under, "" for the step's own."""

COARSE = "coarse"
"""What the values of the search with the coarse tone are kept under."""


class Read(NamedTuple):
    """A part of a step with the channel it is read on ("" for none) and the frequency there."""

    step: Step
    place: Location
    part: Table
    channel: str
    frequency: Quantity | None


def reads_of(procedure: Procedure) -> Iterator[Read]:
    """Every part of every step, in order.

    A frequency is the part's own, or its step's, or that of the source set before it while no `setup` has
    come between.
    """
    set_to: Quantity | None = None
    for place, step in steps_of(procedure):
        for at, part in parts_of(place, step):
            if isinstance(part, SetSource):
                set_to = part.frequency
            elif getattr(part, "setup", "") or getattr(part, "coarse", None):
                set_to = None  # who knows what was switched
            name = getattr(part, "channel", None) or getattr(step, "channel", None) or ""
            yield Read(step, at, part, name, _own(part) or _own(step) or set_to)


def frequencies_of(procedure: Procedure) -> Frequencies:
    """None for a part of which nobody knows."""
    found = {(read.step.id, name_of(read.part)): _base(read.frequency) for read in reads_of(procedure)}
    for step in procedure.steps:
        if getattr(step, "coarse", None):
            found[step.id, COARSE] = None
        if isinstance(step, Rows):  # those of a curve stand in no file
            found |= {(step.id, row.label): _base(_own(row)) for row in step.rows if row not in step.row}
    return found


def frequency_at(frequencies: Frequencies, step: str, part: str) -> float | None:
    """Of a value kept as this part of a step; of what is no part with a signal of its own, the step's."""
    key = (step, part) if (step, part) in frequencies else (step, "")
    return frequencies.get(key)


def name_of(part: Table) -> str:
    """What tells the parts of a step apart: the label of a row, the name of a condition or a side."""
    return getattr(part, "label", "") or (getattr(part, "name", "") or "")


def _base(frequency: Quantity | None) -> float | None:
    return frequency.base if frequency else None


def _own(part: Table) -> Quantity | None:
    """Of the part itself; a row over frequency has it as its place."""
    own, at = getattr(part, "frequency", None), getattr(part, "at", None)
    over_hertz = isinstance(at, Quantity) and at.scale.unit is Unit.HERTZ
    return at if over_hertz else own
