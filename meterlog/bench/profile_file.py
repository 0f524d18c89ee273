"""From a file with a meter's own frequency response to a `Profile`, or to all its problems; and back."""

import math
from collections.abc import Iterator
from pathlib import Path
from typing import Annotated, NamedTuple

from pydantic import AfterValidator, Field, ValidationInfo, field_validator

from meterlog.accuracy.profile import Profile, ProfileRow
from meterlog.bench.bench_model import Channel, MeterEntry
from meterlog.bench.errors import BenchError
from meterlog.bench.functions import FUNCTION_UNITS
from meterlog.bench.specification_file import Frequency
from meterlog.files import (
    Day,
    Distance,
    FileError,
    Level,
    Location,
    Real,
    Table,
    Target,
    parse_toml,
    read_text,
    tables_in,
)
from meterlog.quantity import Offset, Quantity, Span, Unit, difference_db
from meterlog.reading import Coupling

LEAST_ROWS = 2
"""Beside the reference."""
Name = Annotated[str, Field(min_length=1, max_length=80)]


class Profiled(NamedTuple):
    """A profile and its file: that is kept with every session that was corrected by it."""

    profile: Profile
    text: str


def find_profile(path: Path) -> Profiled:
    """BenchError with every problem found."""
    try:
        text = read_text(path)
    except FileError as error:
        raise BenchError(str(error)) from error
    return Profiled(load_profile_text(text, str(path)), text)


def load_profile_text(text: str, file: str) -> Profile:
    """`file` is the name that messages show. BenchError with every problem found, a line for each."""
    try:
        return tables_in(_Tables, parse_toml(text, file), text, file, misfits=_misfits).made()
    except FileError as error:
        raise BenchError(str(error)) from error


def require_of(profile: Profile, channel: Channel, meter: MeterEntry) -> None:
    """BenchError: it is none of this meter as the channel uses it."""
    if not meter.specification:
        raise BenchError(
            f"a profile goes on from {profile.reference_hz:g} Hz; how good the meter is there must stand in "
            f"its `specification`: name one for {meter.name!r}"
        )
    asked, measured = (f"{one.function} {one.coupling}" for one in (channel, profile))
    if asked != measured:
        raise BenchError(f"it was measured on {measured}, and the channel reads {asked}")
    both = meter.serial_number and profile.serial_number
    if both and meter.serial_number != profile.serial_number:
        raise BenchError(f"it is of the meter with the serial number {profile.serial_number!r}")
    if not both and profile.meter != meter.name:
        raise BenchError(f"it is of the meter {profile.meter!r}, and the channel is of {meter.name!r}")
    if channel.range is not None and not math.isclose(channel.range.base, profile.full_scale, rel_tol=1e-6):
        raise BenchError(f"it was measured on another range than {channel.range}")


def _ratio(value: Quantity | Offset) -> Quantity | Offset:
    if isinstance(value, Offset) or (value.scale.unit is Unit.PERCENT and value.base > -100.0):
        return value
    raise ValueError(f"{value} is no deviation; write it in dB or %, such as -0.3 dB")


def _relative(value: Span) -> Span:
    if value.kind in ("dB", "%"):
        return value
    raise ValueError(f"{value} is none of a deviation; write it in dB or %, such as 0.05 dB")


class _Head(Table):
    """[profile]: of which meter, on which function and range, when and against what."""

    meter: Name
    serial_number: str = ""
    function: str = "voltage"
    coupling: Coupling = Coupling.AC
    range: Level
    measured: Day
    valid_days: Annotated[Real, Field(gt=0.0)] = 365.0
    against: Name
    reference_frequency: Frequency

    @field_validator("function")
    @classmethod
    def _of_a_level(cls, value: str) -> str:
        if FUNCTION_UNITS.get(value) in (Unit.VOLT, Unit.AMPERE):
            return value
        raise ValueError(f"a frequency response is one of voltage or current, not of {value!r}")

    @field_validator("coupling")
    @classmethod
    def _of_what_alternates(cls, value: Coupling) -> Coupling:
        if value in (Coupling.AC, Coupling.ACDC):
            return value
        raise ValueError(f"a frequency response is one of ac or acdc, not of {str(value)!r}")

    @field_validator("range")
    @classmethod
    def _in_its_unit(cls, value: Quantity, info: ValidationInfo) -> Quantity:
        unit = FUNCTION_UNITS.get(info.data.get("function", ""))
        if unit in (None, value.scale.unit):
            return value
        raise ValueError(f"a range of {value} is none of {info.data['function']}, which is in {unit}")


class _Row(Table):
    """[[row]]: expanded `uncertainty` with its coverage factor."""

    frequency: Frequency
    deviation: Annotated[Target, AfterValidator(_ratio)]
    uncertainty: Annotated[Distance, AfterValidator(_relative)]
    k: Annotated[Real, Field(ge=1.0, le=5.0)] = 2.0

    def made(self) -> ProfileRow:
        return ProfileRow(self.frequency.base, _in_db(self.deviation), _width_db(self.uncertainty) / self.k)


def _in_db(deviation: Quantity | Offset) -> float:
    return deviation.db if isinstance(deviation, Offset) else difference_db(100.0 + deviation.base, 100.0)


def _width_db(span: Span) -> float:
    return span.amount if span.kind == "dB" else 20.0 * math.log10(1.0 + span.amount / 100.0)


class _Tables(Table):
    head: Annotated[_Head, Field(alias="profile")]
    rows: Annotated[tuple[_Row, ...], Field(alias="row")]

    def made(self) -> Profile:
        head, reference_hz = self.head, self.head.reference_frequency.base
        rows = [ProfileRow(reference_hz, 0.0, 0.0), *(row.made() for row in self.rows)]
        return Profile(
            meter=head.meter,
            serial_number=head.serial_number,
            function=head.function,
            coupling=head.coupling,
            full_scale=head.range.base,
            measured=head.measured,
            valid_days=head.valid_days,
            against=head.against,
            reference_hz=reference_hz,
            rows=tuple(sorted(rows)),
        )


def _misfits(tables: _Tables) -> Iterator[tuple[Location, str]]:
    """What only the rows together can tell, at the row's own line."""
    reference = tables.head.reference_frequency
    at = [row.frequency for row in tables.rows]
    for index, frequency in enumerate(at):
        if index and frequency.base <= at[index - 1].base:
            what = f"{frequency} comes after {at[index - 1]}; rows go upwards in frequency, each one once"
            yield ("row", index, "frequency"), what
        if frequency.base == reference.base:
            yield ("row", index, "frequency"), f"leave out the row at {reference}: the others are about it"
    if len(at) < LEAST_ROWS:
        what = "write two rows at least: with the reference, the fewest that say what lies between"
        yield ("row", 0), what
