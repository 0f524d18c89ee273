"""From a file that says what a meter can do to a `Specification`, or to all its problems."""

from pathlib import Path
from typing import Annotated, NamedTuple, Self

from pydantic import AfterValidator, Field, model_validator

from meterlog.accuracy import Accuracy, Band, Capability, Range, Response, Specification, Statement
from meterlog.bench.errors import BenchError
from meterlog.bench.functions import COUPLED, FUNCTION_UNITS
from meterlog.files import (
    Distance,
    FileError,
    Level,
    Real,
    Seconds,
    Table,
    parse_toml,
    read_text,
    tables_in,
)
from meterlog.quantity import Quantity, Span, Unit
from meterlog.reading import Coupling
from meterlog.shipped import shipped


class Described(NamedTuple):
    """What a file says a meter can do, and the file: that is kept with every session that rests on it."""

    specification: Specification
    text: str


def find_specification(name: str, folder: Path) -> Described:
    """By the name of a shipped file, or by a path from `folder` on. BenchError with every problem found."""
    path = _path_of(name, folder)
    try:
        text = read_text(path)
    except FileError as error:
        raise BenchError(str(error)) from error
    return Described(load_specification_text(text, str(path)), text)


def load_specification_text(text: str, file: str) -> Specification:
    """`file` is the name that messages show. BenchError with every problem found, a line for each."""
    try:
        return tables_in(_Tables, parse_toml(text, file), text, file).made()
    except FileError as error:
        raise BenchError(str(error)) from error


def _path_of(name: str, folder: Path) -> Path:
    if name.endswith(".toml"):
        return folder / name
    files = {path.stem: path for path in shipped("meters")}
    if name not in files:
        raise BenchError(
            f"no meter is described under {name!r}; known are {', '.join(files)}, or a path to a .toml"
        )
    return files[name]


def _of(unit: Unit, example: str) -> AfterValidator:
    def check(value: Quantity) -> Quantity:
        if value.scale.unit is unit and value.base > 0.0:
            return value
        raise ValueError(f"{value} does not fit; write a value above 0 such as {example}")

    return AfterValidator(check)


def _percent(value: Span) -> Span:
    if value.kind == "%" and value.amount < 100.0:
        return value
    raise ValueError(f"{value} is no part of full scale; write it in %, such as 1 %")


def _in_celsius(value: Quantity) -> Quantity:
    if value.scale.unit is Unit.CELSIUS:
        return value
    raise ValueError(f"{value} is no temperature; write it in degC, such as 18 degC")


Frequency = Annotated[Level, _of(Unit.HERTZ, "20 Hz")]
Impedance = Annotated[Level, _of(Unit.OHM, "10 Mohm")]
Share = Annotated[Distance, AfterValidator(_percent)]
Temperature = Annotated[Level, AfterValidator(_in_celsius)]
Period = Annotated[Seconds, Field(gt=0)]


class _Head(Table):
    title: Annotated[str, Field(min_length=1, max_length=80)]
    reading_period: Period


class _Band(Table):
    low: Frequency
    high: Frequency

    @model_validator(mode="after")
    def _upwards(self) -> Self:
        if self.low.base >= self.high.base:
            raise ValueError(f"{self.low} to {self.high} is no band; low comes below high")
        return self

    def made(self) -> Band:
        return Band(self.low.base, self.high.base)


class _Range(Table):
    """Without `highest` it shows up to one count below its full scale."""

    full_scale: Level
    count: Level
    highest: Level | None = None

    @model_validator(mode="after")
    def _in_order(self) -> Self:
        if not 0.0 < self.count.base < self.full_scale.base:
            raise ValueError(f"one count of {self.count} is no digit of a range of {self.full_scale}")
        return self

    def made(self) -> Range:
        full, count = self.full_scale.base, self.count.base
        return Range(full, count, self.highest.base if self.highest else full - count)


class _Accuracy(Table):
    """One row of the maker's table; without `ranges` for all, without `band` for every frequency."""

    reading: Share | None = None
    of_range: Annotated[Share | None, Field(alias="range")] = None
    counts: Annotated[Real, Field(ge=0.0)] = 0.0
    ranges: Annotated[list[Level], Field(min_length=1)] | None = None
    band: Annotated[list[Frequency], Field(min_length=2, max_length=2)] | None = None
    days: Annotated[Real, Field(gt=0.0)] = 365.0
    temperature: Annotated[list[Temperature], Field(min_length=2, max_length=2)] | None = None
    reading_per_kelvin: Share | None = None
    range_per_kelvin: Share | None = None
    stated: Statement = Statement.BOUNDS

    @model_validator(mode="after")
    def _something(self) -> Self:
        if self.reading is None and self.of_range is None and not self.counts:
            raise ValueError("states nothing; write reading, range or counts")
        for pair in (self.band, self.temperature):
            if pair and pair[0].base >= pair[1].base:
                raise ValueError(f"{pair[0]} to {pair[1]}: low comes below high")
        return self

    def made(self) -> Accuracy:
        low, high = [one.base for one in self.temperature] if self.temperature else (18.0, 28.0)
        return Accuracy(
            reading=_share(self.reading),
            of_range=_share(self.of_range),
            counts=self.counts,
            ranges=tuple(one.base for one in self.ranges or ()),
            band=Band(self.band[0].base, self.band[1].base) if self.band else None,
            days=self.days,
            temperatures=(low, high),
            reading_per_kelvin=_share(self.reading_per_kelvin),
            of_range_per_kelvin=_share(self.range_per_kelvin),
            statement=self.stated,
        )


def _share(span: Span | None) -> float:
    return span.amount / 100.0 if span else 0.0


class _Function(Table):
    function: str
    coupling: Coupling = Coupling.NONE
    input: Impedance | None = None
    lowest: Share | None = None
    response: Response | None = None
    crest_factor: Annotated[Real, Field(ge=1.0, le=20.0)] | None = None
    bands: Annotated[tuple[_Band, ...], Field(alias="band")] = ()
    ranges: Annotated[list[_Range], Field(alias="range", min_length=1)]
    accuracies: Annotated[tuple[_Accuracy, ...], Field(alias="accuracy")] = ()

    @model_validator(mode="after")
    def _known(self) -> Self:
        unit = FUNCTION_UNITS.get(self.function)
        if unit is None:
            raise ValueError(f"no function {self.function!r}; functions are {', '.join(FUNCTION_UNITS)}")
        if (self.function in COUPLED) is (self.coupling is Coupling.NONE):
            raise ValueError("voltage and current have a coupling (dc, ac or acdc), other functions none")
        if self.response and self.coupling not in (Coupling.AC, Coupling.ACDC):
            raise ValueError("a response is one of ac or acdc; remove it")
        if self.crest_factor and self.response is not Response.TRUE_RMS:
            raise ValueError('a crest factor goes with response = "true rms"; remove it')
        for level in self._levels():
            if level.scale.unit is not unit:
                raise ValueError(f"{level} is none of {self.function}, which is in {unit}")
        for name in self._unknown_ranges():
            raise ValueError(f"an accuracy names a range of {name}, and there is none; look at full_scale")
        return self

    def _unknown_ranges(self) -> list[Quantity]:
        full_scales = {one.full_scale.base for one in self.ranges}
        named = [one for row in self.accuracies for one in row.ranges or ()]
        return [one for one in named if one.base not in full_scales]

    def _levels(self) -> list[Quantity]:
        found = [(one.full_scale, one.count, one.highest) for one in self.ranges]
        return [level for levels in found for level in levels if level is not None]

    def made(self) -> Capability:
        return Capability(
            function=self.function,
            coupling=self.coupling,
            ranges=tuple(one.made() for one in self.ranges),
            bands=tuple(one.made() for one in self.bands),
            input_ohm=self.input.base if self.input else None,
            response=self.response,
            crest_factor=self.crest_factor,
            lowest=_share(self.lowest),
            accuracies=tuple(one.made() for one in self.accuracies),
        )


class _Tables(Table):
    head: Annotated[_Head, Field(alias="specification")]
    functions: Annotated[list[_Function], Field(alias="function", min_length=1)]

    def made(self) -> Specification:
        capabilities = tuple(one.made() for one in self.functions)
        return Specification(self.head.title, self.head.reading_period, capabilities)
