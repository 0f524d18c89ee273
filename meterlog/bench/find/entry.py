"""From what was found to the tables of a bench file. Pure."""

import json
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field, replace

from meterlog.bench.find.candidates import Match
from meterlog.bench.find.finding import Finding
from meterlog.bench.functions import COUPLED, FUNCTION_UNITS
from meterlog.reading import Coupling, Indication

Value = str | int | float | bool
_PASSING = frozenset({"diode", "continuity"})
"""What the knob of a meter stands on by chance, and nobody aligns with."""


@dataclass(frozen=True, slots=True)
class ChannelEntry:
    """One [[channel]]."""

    name: str
    function: str = "voltage"
    coupling: Coupling = Coupling.AC
    display: int = 1


@dataclass(frozen=True, slots=True)
class Entry:
    """One [[meter]] with its channels. line: what [meter.line] must say beside the driver."""

    name: str
    driver: str
    address: str
    channels: tuple[ChannelEntry, ...]
    dialect: str = ""
    identity: str = ""
    serial_number: str = ""
    line: Mapping[str, Value] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Wish:
    """What the person wants it to be; "" leaves the choice to what was found."""

    name: str = ""
    channel: str = ""
    function: str = ""
    coupling: str = ""


@dataclass(frozen=True, slots=True)
class Taken:
    """Names that the file has already."""

    meters: Collection[str] = ()
    channels: Collection[str] = ()

    def with_those_of(self, entries: Sequence[Entry]) -> "Taken":
        """Also the names of entries that are not in the file yet."""
        return Taken(
            [*self.meters, *(entry.name for entry in entries)],
            [*self.channels, *(channel.name for entry in entries for channel in entry.channels)],
        )


def entry_for(
    finding: Finding,
    match: Match,
    *,
    line: Mapping[str, Value],
    wish: Wish | None = None,
    taken: Taken | None = None,
) -> Entry:
    """The entry for one of the matches of a finding. `line`: see `differing`."""
    wish, taken = wish or Wish(), taken or Taken()
    identity = match.identity
    name = wish.name or unused(identity.model or match.driver, taken.meters)
    known = identity.model if identity.model in identity.text else ""
    shows = finding.shows if match == finding.matches[0] else ()
    return Entry(
        name=name,
        driver=match.driver,
        address=finding.address,
        channels=tuple(_channels(shows, wish, name, taken.channels)),
        dialect=match.dialect,
        identity="" if match.talks else known,
        serial_number="" if identity.serial_number == "0" else identity.serial_number,
        line=line,
    )


def unused(name: str, taken: Collection[str]) -> str:
    """The name, or with the first number behind it that makes it a new one."""
    numbered = (name if number == 1 else f"{name} {number}" for number in range(1, len(taken) + 2))
    return next(one for one in numbered if one not in taken)


def entry_text(entry: Entry) -> str:
    """The TOML of it, to be put behind what a bench file has."""
    meter = {"name": entry.name, "driver": entry.driver, "address": entry.address}
    more = {"dialect": entry.dialect, "identity": entry.identity, "serial_number": entry.serial_number}
    tables = [_table("[[meter]]", meter | {key: value for key, value in more.items() if value})]
    if entry.line:
        tables.append(_table("[meter.line]", entry.line))
    return "\n".join([*tables, *(_channel_text(entry, channel) for channel in entry.channels)])


def _channels(
    shows: Sequence[Indication], wish: Wish, meter: str, taken: Collection[str]
) -> list[ChannelEntry]:
    """One for each display that was seen, at least one."""
    base = wish.channel or unused(meter, taken)
    found = [_channel(one, base) for one in shows] or [ChannelEntry(base)]
    found[0] = _wished(found[0], wish)
    names = set(taken)
    for index, channel in enumerate(found[1:], start=1):
        name = unused(f"{base}, display {channel.display}", names)
        found[index] = replace(channel, name=name)
        names.add(name)
    return found


def _channel(shown: Indication, name: str) -> ChannelEntry:
    """As the meter stands now; voltage where it does not say, or stands on what nobody keeps."""
    function = shown.function or next(
        (known for known, unit in FUNCTION_UNITS.items() if unit is shown.unit), "voltage"
    )
    if function in _PASSING or function not in FUNCTION_UNITS:
        return ChannelEntry(name, display=shown.display)
    return ChannelEntry(name, function, _coupling(function, shown.coupling), shown.display)


def _wished(channel: ChannelEntry, wish: Wish) -> ChannelEntry:
    function = wish.function or channel.function
    kept = channel.coupling if function == channel.function else Coupling.NONE
    return replace(channel, function=function, coupling=_coupling(function, Coupling(wish.coupling) or kept))


def _coupling(function: str, seen: Coupling) -> Coupling:
    if function not in COUPLED:
        return Coupling.NONE
    return seen or Coupling.AC


def _channel_text(entry: Entry, channel: ChannelEntry) -> str:
    values: dict[str, Value] = {"name": channel.name, "meter": entry.name, "function": channel.function}
    if channel.coupling:
        values["coupling"] = str(channel.coupling)
    if channel.display != 1:
        values["display"] = channel.display
    return _table("[[channel]]", values)


def _table(head: str, values: Mapping[str, Value]) -> str:
    return "\n".join([head, *(f"{key} = {_quoted(value)}" for key, value in values.items())]) + "\n"


def _quoted(value: Value) -> str:
    """A JSON string is a TOML basic string, but for DEL, which TOML wants escaped."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
