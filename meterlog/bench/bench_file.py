"""From the text of a bench file to a `Bench`, or to all its problems with file, line and field."""

import hashlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import date
from pathlib import Path
from typing import TypeVar

from meterlog.accuracy import Conditions, InUse, Profile, Specification
from meterlog.bench.bench_model import BenchTables, Channel, Laboratory, MeterEntry, SourceEntry, settings_of
from meterlog.bench.drivers import check_settings
from meterlog.bench.errors import BenchError
from meterlog.bench.known_meters import conditions, in_use
from meterlog.bench.profile_file import Profiled, find_profile, require_of
from meterlog.bench.specification_file import Described, find_specification
from meterlog.files import (
    FileError,
    Location,
    Problem,
    parse_toml,
    read_text,
    references_in,
    refuse_other,
    tables_in,
)
from meterlog.quantity import References

Entry = TypeVar("Entry", MeterEntry, SourceEntry)

_OTHER = "this is a procedure, not a bench file; `meterlog procedure check` looks at those"


@dataclass(frozen=True, slots=True)
class Bench:
    """What the file says. `text` is the file itself, `digest` its SHA-256: both go into the record.

    specifications       what the meters can do, by their names, where the file says so
    specification_texts  the files that say so
    profiles             the meters' own frequency responses, by the names of the channels
    profile_texts        their files
    """

    name: str
    references: References
    meters: tuple[MeterEntry, ...]
    channels: tuple[Channel, ...]
    text: str
    digest: str
    simulate_url: str | None = None
    specifications: Mapping[str, Specification] = field(default_factory=dict)
    specification_texts: Mapping[str, str] = field(default_factory=dict)
    profiles: Mapping[str, Profile] = field(default_factory=dict)
    profile_texts: Mapping[str, str] = field(default_factory=dict)
    source: SourceEntry | None = None
    laboratory: Laboratory = field(default_factory=Laboratory)

    def meter(self, name: str) -> MeterEntry:
        """The meter with this name; KeyError if there is none."""
        return {meter.name: meter for meter in self.meters}[name]

    def channels_of(self, meter: str) -> list[Channel]:
        """The channels of one meter, by their displays."""
        own = [channel for channel in self.channels if channel.meter == meter]
        return sorted(own, key=lambda channel: channel.display)

    def in_use(self) -> dict[str, InUse]:
        """By the names of the channels, where it is known what their meters can do."""
        return in_use(self.channels, self.specifications, self.profiles)

    def conditions(self, today: date, temperature_c: float | None = None) -> dict[str, Conditions]:
        """By the names of the channels: how long ago their meters were calibrated, where that is known, and
        the temperature of all."""
        calibrated = {meter.name: meter.calibrated for meter in self.meters if meter.calibrated}
        return conditions(self.channels, calibrated, self.profiles, today, temperature_c)


def load_bench(path: Path) -> Bench:
    """Read a file. BenchError with every problem found, a line for each."""
    try:
        bench = load_bench_text(read_text(path), str(path))
    except FileError as error:
        raise BenchError(str(error)) from error
    described = _described(bench, path)
    profiled = _profiled(bench, path)
    return replace(
        bench,
        specifications={name: found.specification for name, found in described.items()},
        specification_texts={name: found.text for name, found in described.items()},
        profiles={name: found.profile for name, found in profiled.items()},
        profile_texts={name: found.text for name, found in profiled.items()},
        meters=tuple(_found_dialect(meter, path.parent) for meter in bench.meters),
        source=_found_dialect(bench.source, path.parent) if bench.source else None,
    )


def check_drivers(bench: Bench, path: Path) -> None:
    """BenchError: what the drivers themselves say against their meters' settings. Imports the drivers.

    What is wrong in a dialect's file is told at that file's own lines, below the line that names it.
    """
    found = []
    for index, meter in enumerate(bench.meters):
        try:
            check_settings(meter.driver, settings_of(meter, bench.channels_of(meter.name)))
        except BenchError as error:
            found.append(Problem.at(("meter", index, "driver"), str(error), bench.text, str(path)))
        except FileError as error:
            what = f"what {Path(meter.dialect).name} says of this meter cannot be used:\n{error}"
            found.append(Problem.at(("meter", index, "dialect"), what, bench.text, str(path)))
    if found:
        raise _refused(found)


def load_bench_text(text: str, file: str) -> Bench:
    """As `load_bench`, from a text alone: no other file is read. `file` is the name that messages show."""
    try:
        data = parse_toml(text, file)
        refuse_other(data, "step", "meter", what=_OTHER, text=text, file=file)
        references = references_in(data)
        context = {"references": references}
        tables = tables_in(BenchTables, data, text, file, context=context, misfits=_misfits)
    except FileError as error:
        raise BenchError(str(error)) from error
    return Bench(
        name=tables.head.name,
        references=references,
        meters=tuple(tables.meters),
        channels=tuple(tables.channels),
        text=text,
        digest=hashlib.sha256(text.encode()).hexdigest(),
        simulate_url=tables.head.simulate_url,
        source=tables.sources[0] if tables.sources else None,
        laboratory=tables.laboratory,
    )


def _found_dialect(entry: Entry, folder: Path) -> Entry:
    """A file is named as seen from the bench file; other names are the driver's own."""
    if not entry.dialect.endswith(".toml"):
        return entry
    return entry.model_copy(update={"dialect": str((folder / entry.dialect).resolve())})


def _described(bench: Bench, path: Path) -> dict[str, Described]:
    """What is wrong in another file is told with that file's name and line."""
    found: dict[str, Described] = {}
    for index, meter in enumerate(bench.meters):
        try:
            if meter.specification:
                found[meter.name] = find_specification(meter.specification, path.parent)
        except BenchError as error:
            raise _refused(
                [Problem.at(("meter", index, "specification"), str(error), bench.text, str(path))]
            ) from error
    return found


def _profiled(bench: Bench, path: Path) -> dict[str, Profiled]:
    found: dict[str, Profiled] = {}
    for index, channel in enumerate(bench.channels):
        if channel.profile is None:
            continue
        try:
            found[channel.name] = find_profile(path.parent / channel.profile)
            require_of(found[channel.name].profile, channel, bench.meter(channel.meter))
        except BenchError as error:
            raise _refused(
                [Problem.at(("channel", index, "profile"), str(error), bench.text, str(path))]
            ) from error
    return found


def _refused(problems: list[Problem]) -> BenchError:
    return BenchError("\n".join(str(one) for one in sorted(problems, key=lambda problem: problem.line)))


def _misfits(tables: BenchTables) -> Iterator[tuple[Location, str]]:
    """What only the whole file can tell."""
    meters = [meter.name for meter in tables.meters]
    wanted = [channel.meter for channel in tables.channels]
    yield from _repeated("meter", "name", meters, "is the name of another meter; choose a new one")
    addresses = [meter.address for meter in tables.meters]
    for index, source in enumerate(tables.sources):
        if source.address in addresses:
            yield ("source", index, "address"), f"{source.address!r} is a meter's address; look at both"
    yield from _repeated("meter", "address", addresses, "is another meter's address; look at both")
    names = [channel.name for channel in tables.channels]
    yield from _repeated("channel", "name", names, "is the name of another channel; choose a new one")
    shown = [f"{channel.meter}, display {channel.display}" for channel in tables.channels]
    yield from _repeated("channel", "meter", shown, "has a channel already; there is one for each display")
    for index, name in enumerate(wanted):
        if name not in meters:
            yield ("channel", index, "meter"), f"no meter {name!r}; meters are {', '.join(meters)}"
    for index, name in enumerate(meters):
        if name not in wanted:
            yield ("meter", index, "name"), f"{name!r} has no channel; add a [[channel]] or remove the meter"
    yield from _mistaken_air(tables)


def _mistaken_air(tables: BenchTables) -> Iterator[tuple[Location, str]]:
    """A channel that is to tell the temperature or humidity and is not there, or measures something else."""
    measured = {channel.name: channel.function for channel in tables.channels}
    for function in ("temperature", "humidity"):
        name = getattr(tables.laboratory, f"{function}_channel")
        if name is not None and measured.get(name) != function:
            what = f"no channel {name!r} with function = {function!r}; add a [[channel]]"
            yield ("laboratory", f"{function}_channel"), what


def _repeated(table: str, field: str, values: list[str], what: str) -> Iterator[tuple[Location, str]]:
    for index, value in enumerate(values):
        if value in values[:index]:
            yield (table, index, field), f"{value!r} {what}"
