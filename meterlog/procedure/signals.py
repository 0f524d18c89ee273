"""What the signal is while a step reads it, as far as the file tells: frequency, waveform, distortion."""

from collections.abc import Iterator, Mapping
from typing import Any, NamedTuple

from meterlog.accuracy import Signal, Waveform
from meterlog.files import Location
from meterlog.procedure.model import Procedure, Rows, SetSource, Step
from meterlog.procedure.model.base import Table
from meterlog.procedure.model.rows import Row
from meterlog.procedure.parts import parts_of, steps_of
from meterlog.quantity import Quantity, Span, Unit

Signals = Mapping[tuple[str, str], Signal]
"""By the step's id and the name that the part's values are kept under, "" for the step's own."""

COARSE = "coarse"
"""What the values of the search with the coarse tone are kept under."""


class Read(NamedTuple):
    """A part of a step with the channel it is read on ("" for none) and the signal there; its frequency as it
    is written too. `tolerance`: of its own or of its table, None where it is not judged."""

    step: Step
    place: Location
    part: Table
    channel: str
    frequency: Quantity | None
    signal: Signal
    tolerance: Span | None


def reads_of(procedure: Procedure) -> Iterator[Read]:
    """Every part of every step, in order; the rows of a curve too, which stand in no file.

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
            yield _read(step, at, part, source)
        if isinstance(step, Rows):  # without the source: sessions are recorded so, and replay as they were
            yield from (_read(step, place, row, None) for row in step.rows if row not in step.row)


def _read(step: Step, place: Location, part: Table, source: Table | None) -> Read:
    name = getattr(part, "channel", None) or getattr(step, "channel", None) or ""
    said = (part, step, source)
    return Read(step, place, part, name, _frequency(*said), _signal(*said), _tolerance(step, part))


def _tolerance(step: Step, part: Table) -> Span | None:
    """A table judges its rows, those of which something is expected; it is none itself."""
    if not isinstance(step, Rows):
        found: Span | None = getattr(part, "tolerance", None)
        return found
    if not isinstance(part, Row) or step.expected_of(part) is None:
        return None
    return step.tolerance_of(part)


def signals_of(procedure: Procedure) -> Signals:
    found = {(read.step.id, name_of(read.part)): read.signal for read in reads_of(procedure)}
    for step in procedure.steps:
        if getattr(step, "coarse", None):
            found[step.id, COARSE] = Signal()
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
