"""The file of a check: at which points a meter is looked at, and what it is held against."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Annotated

from pydantic import Field, field_validator

from meterlog.bench import FUNCTION_UNITS
from meterlog.bench.bench_model import OptionValue
from meterlog.bench.functions import COUPLED
from meterlog.checking.errors import CheckError
from meterlog.files import (
    NO_REFERENCES,
    Day,
    Distance,
    FileError,
    Level,
    Levels,
    Location,
    Real,
    Seconds,
    Table,
    Truth,
    parse_toml,
    read_text,
    references_in,
    refuse_other,
    tables_in,
)
from meterlog.quantity import Quantity, References, Span, Unit
from meterlog.reading import Coupling

Name = Annotated[str, Field(min_length=1, max_length=80)]
_OTHER = "this is no points file, for it has no [checks]; look at `meterlog check run --help`"


class _Head(Table):
    """[checks]. every_days: how often it is meant to be done, until the history knows better."""

    title: Name
    every_days: Annotated[Real, Field(ge=1.0, le=3650.0)] = 7.0


class Reference(Table):
    """One [[reference]]: a source, a chip, a resistor that is held to the meter.

    calibrated  by whom its values were found last, or when it was compared last; for the reader
    """

    name: Name
    serial_number: str = ""
    calibrated: Day | None = None


class Point(Table):
    """One [[point]]. Levels as quantities; `value` is the reference's, or with `against` the nominal one.

    frequencies  in the place of `frequency`: a sweep, a point for each, called "NAME, 1 kHz"
    reference    the name of a [[reference]]
    against      in its place a channel of the bench: that of a second meter, which is read at the same time
    uncertainty  expanded, of the reference's value; of a second meter's where its specification is not known
    k            coverage factor of `uncertainty`
    allowed      the error that still counts as inside, in place of what the meter's specification says
    drive        the bench's source is set to value and frequency
    settle       how still the level must be, `dwell` for how long; `patience`: how long to wait for that
    options      the driver's own keys for this point, over those of the bench file
    """

    name: Name
    function: str = "voltage"
    coupling: Coupling = Coupling.NONE
    range: Level | None = None
    ac_filter: Level | None = None
    frequency: Level | None = None
    frequencies: Annotated[tuple[Level, ...], Field(min_length=1)] | None = None
    value: Level
    reference: str = ""
    against: str = ""
    uncertainty: Distance | None = None
    k: Annotated[Real, Field(ge=1.0, le=5.0)] = 2.0
    allowed: Distance | None = None
    setup: str = ""
    drive: Truth = False
    settle: Distance | None = None
    dwell: Annotated[Seconds, Field(gt=0.0)] = 2.0
    patience: Annotated[Seconds, Field(gt=0.0)] = 60.0
    options: dict[str, OptionValue] = Field(default_factory=dict)

    @field_validator("function")
    @classmethod
    def _known(cls, value: str) -> str:
        if value not in FUNCTION_UNITS:
            raise ValueError(f"no function {value!r}; functions are {', '.join(FUNCTION_UNITS)}")
        return value

    @property
    def unit(self) -> Unit:
        return FUNCTION_UNITS[self.function]

    @property
    def frequency_hz(self) -> float | None:
        return self.frequency.base if self.frequency else None

    def each(self) -> "Iterator[Point]":
        """The points that it stands for; the person is told once what to connect."""
        if self.frequencies is None:
            yield self
            return
        for place, frequency in enumerate(self.frequencies):
            alone = {"name": f"{self.name}, {frequency}", "frequency": frequency, "frequencies": None}
            yield self.model_copy(update=alone | ({} if place == 0 else {"setup": _tuned(frequency)}))


def _tuned(frequency: Quantity) -> str:
    return f"The source to {frequency}."


class _Tables(Table):
    head: Annotated[_Head, Field(alias="checks")]
    levels: Levels = Levels()
    references: Annotated[list[Reference], Field(alias="reference")] = Field(default_factory=list)
    points: Annotated[list[Point], Field(alias="point", min_length=1)]


@dataclass(frozen=True, slots=True)
class Points:
    """What the file says; `text` is the file itself and goes into the record."""

    title: str
    every_days: float
    references: dict[str, Reference] = field(default_factory=dict)
    points: tuple[Point, ...] = ()
    text: str = ""


def load_points(path: Path, references: References = NO_REFERENCES) -> Points:
    """CheckError with every problem found, a line for each. `references`: the levels of the bench file."""
    try:
        return load_points_text(read_text(path), str(path), references)
    except FileError as error:
        raise CheckError(str(error)) from error


def load_points_text(text: str, file: str, references: References = NO_REFERENCES) -> Points:
    """`file` is the name that messages show. FileError with every problem found."""
    data = parse_toml(text, file)
    for other in ("bench", "procedure", "step"):
        refuse_other(data, other, "checks", what=_OTHER, text=text, file=file)
    context = {"references": references_in(data, references)}
    tables = tables_in(_Tables, data, text, file, context=context, misfits=_misfits)
    named = {one.name: one for one in tables.references}
    points = tuple(one for point in tables.points for one in point.each())
    return Points(tables.head.title, tables.head.every_days, named, points, text)


def _misfits(tables: _Tables) -> Iterator[tuple[Location, str]]:
    """What only the whole file, or a whole point, can tell."""
    known = [one.name for one in tables.references]
    yield from _twice("reference", known)
    yield from _twice("point", [point.name for point in tables.points])
    swept = {one.name for point in tables.points if point.frequencies for one in point.each()}
    for place, point in enumerate(tables.points):
        if point.name in swept:
            yield ("point", place, "name"), f"{point.name!r} is one of a sweep; choose another name"
    offered = f"references are {', '.join(known)}" if known else "add a [[reference]]"
    for place, point in enumerate(tables.points):
        for key, what in (*_of_measuring(point), *_of_reference(point)):
            yield ("point", place, key), what
        if point.reference and point.reference not in known:
            yield ("point", place, "reference"), f"no reference {point.reference!r}; {offered}"


def _of_measuring(point: Point) -> Iterator[tuple[str, str]]:
    coupled = point.function in COUPLED
    if coupled and point.coupling is Coupling.NONE:
        yield "coupling", "missing; write dc, ac or acdc"
    if not coupled and point.coupling is not Coupling.NONE:
        yield "coupling", f"means nothing for {point.function}; remove it"
    if point.frequency is not None and point.frequencies is not None:
        yield "frequencies", "write either frequency or frequencies"
    told = point.frequency is not None or point.frequencies is not None
    if coupled and point.coupling is Coupling.AC and not told:
        yield "frequency", 'missing; what a meter may be off hangs on it; write it, such as "1 kHz"'
    units = {"value": point.unit, "range": point.unit, "frequency": Unit.HERTZ, "ac_filter": Unit.HERTZ}
    for key, unit in units.items():
        level = getattr(point, key)
        if level is not None and level.scale.unit is not unit:
            yield key, f"{level} does not fit; write a value in {unit}"
    if any(one.scale.unit is not Unit.HERTZ or one.base <= 0.0 for one in point.frequencies or ()):
        yield "frequencies", "write frequencies above 0, such as 1 kHz"
    if len({one.base for one in point.frequencies or ()}) < len(point.frequencies or ()):
        yield "frequencies", "one of them stands there twice"
    if point.drive and (point.unit is not Unit.VOLT or not told):
        yield "drive", "the bench's source can be set to a voltage with a frequency only"


def _of_reference(point: Point) -> Iterator[tuple[str, str]]:
    if bool(point.reference) is bool(point.against):
        yield "reference", "write either reference or against: what is the meter held against?"
    if point.reference and point.uncertainty is None:
        yield "uncertainty", "missing; how sure is the value of the reference?"
    for key in ("uncertainty", "allowed", "settle"):
        span: Span | None = getattr(point, key)
        if span is not None and span.kind not in ("dB", "%", point.unit):
            yield key, f"{span} does not fit; write it in {point.unit}, in % or in dB"
        elif span is not None and not span.half_width(point.value.base) > 0.0:
            yield key, f"{span} is nothing at {point.value}; write a distance in {point.unit}"


def _twice(table: str, names: list[str]) -> Iterator[tuple[Location, str]]:
    for place, name in enumerate(names):
        if name in names[:place]:
            yield (table, place, "name"), f"{name!r} is the name of another {table}; choose a new one"
