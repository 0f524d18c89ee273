"""Rows of tables: what is no level of the channel, and where the frequency is looked for."""

from collections.abc import Iterator

from meterlog.files import Location
from meterlog.procedure.checks.finding import Finding
from meterlog.procedure.model import Procedure, Rows
from meterlog.procedure.model.rows import Row
from meterlog.procedure.parts import steps_of
from meterlog.quantity import Quantity, Unit


def misfits(procedure: Procedure) -> Iterator[Finding]:
    units = {channel.name: channel.unit for channel in procedure.channels}
    for place, step in steps_of(procedure):
        if isinstance(step, Rows):
            yield from _counter(units, place, step)
            if step.channel in units:
                yield from _rows(units[step.channel], place, step)


def _counter(units: dict[str, Unit], place: Location, step: Rows) -> Iterator[Finding]:
    name, where = step.frequency_channel, (*place, "frequency_channel")
    if name is not None and name not in units:
        yield Finding(where, f"no channel {name!r} is declared; declared are {', '.join(units)}")
    elif name is not None and units[name] is not Unit.HERTZ:
        yield Finding(where, f"the channel {name!r} is in {units[name].value}; a frequency is in Hz")


def _rows(unit: Unit, place: Location, step: Rows) -> Iterator[Finding]:
    for number, row in enumerate(step.row):
        yield from _row(unit, (*place, "row", number), step, row)


def _row(unit: Unit, place: Location, step: Rows, row: Row) -> Iterator[Finding]:
    expected, tolerance = step.expected_of(row), step.tolerance_of(row)
    if isinstance(expected, Quantity) and expected.scale.unit is not unit:
        yield Finding((*place, "expected"), f"{expected} is no level of a channel in {unit.value}")
    elif row.tolerance is not None and row.tolerance.kind not in ("dB", "%", unit):
        yield Finding((*place, "tolerance"), f"{row.tolerance} does not fit a channel in {unit.value}")
    elif isinstance(expected, Quantity) and tolerance and tolerance.half_width(expected.base) <= 0.0:
        yield Finding(
            place, f'{tolerance} of {expected} is nothing; write an absolute one, such as "1 m{unit.value}"'
        )
