"""What the signal is while a step reads it, as far as the file tells: frequency, waveform, distortion."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from meterlog.accuracy import Signal, Waveform
from meterlog.files import Location
from meterlog.procedure.model import Procedure, Rows, SetSource, Step
from meterlog.procedure.model.base import Table
from meterlog.procedure.parts import parts_of, steps_of
from meterlog.quantity import Quantity, Unit

Signals = Mapping[tuple[str, str], Signal]
"""By the step's id and the name that the part's values are kept under, "" for the step's own."""

COARSE = "coarse"
"""What the values of the search with the coarse tone are kept under."""


class Read(NamedTuple):
    """A part of a step with the channel it is read on ("" for none) and the signal there; its frequency as it
    is written too."""

    step: Step
    place: Location
    part: Table
    channel: str
    frequency: Quantity | None
    signal: Signal


def reads_of(procedure: Procedure) -> Iterator[Read]:
    """Every part of every step, in order.

    What is said of a signal is the part's own, or its step's, or that of the source set before it while no
    `setup` has come between.
    """
    source: Table | None = None
    for place, step in steps_of(procedure):
        for at, part in parts_of(place, step):
            if isinstance(part, SetSource):
                source = part
            elif getattr(part, "setup", "") or getattr(part, "coarse", None):
                source = None  # who knows what was switched
            name = getattr(part, "channel", None) or getattr(step, "channel", None) or ""
            said = (part, step, source)
            yield Read(step, at, part, name, _frequency(*said), _signal(*said))


def signals_of(procedure: Procedure) -> Signals:
    found = {(read.step.id, name_of(read.part)): read.signal for read in reads_of(procedure)}
    for step in procedure.steps:
        if getattr(step, "coarse", None):
            found[step.id, COARSE] = Signal()
        if isinstance(step, Rows):  # those of a curve stand in no file
            found |= {(step.id, row.label): _signal(row, step) for row in step.rows if row not in step.row}
    return found


def signal_at(signals: Signals, step: str, part: str) -> Signal:
    """Of a value kept as this part of a step; of what is no part with a signal of its own, the step's."""
    key = (step, part) if (step, part) in signals else (step, "")
    return signals.get(key, Signal())


def name_of(part: Table) -> str:
    """What tells the parts of a step apart: the label of a row, the name of a condition or a side."""
    return getattr(part, "label", "") or (getattr(part, "name", "") or "")


def _signal(*said: Table | None) -> Signal:
    frequency, distortion = _frequency(*said), _first("distortion", said)
    return Signal(
        frequency.base if frequency else None,
        _first("waveform", said) or Waveform.SINE,
        distortion.amount / 100.0 if distortion else 0.0,
    )


def _frequency(*said: Table | None) -> Quantity | None:
    """A row over frequency has it as its place."""
    at = getattr(said[0], "at", None)
    over_hertz = isinstance(at, Quantity) and at.scale.unit is Unit.HERTZ
    found: Quantity | None = at if over_hertz else _first("frequency", said)
    return found


def _first(field: str, said: tuple[Table | None, ...]) -> Any:
    """Of those who say something of it."""
    return next((found for one in said if (found := getattr(one, field, None)) is not None), None)
