"""The bench file for the daemon, written anew at each start because the ports may be others."""

import json
from collections.abc import Mapping
from dataclasses import dataclass, field

HEADER = """\
# The simulated bench as meterlog sees it: meters with addresses, nothing else.
# Written by `meterlog-simulate run` at every start; changes made here will be lost.
"""


@dataclass(frozen=True, slots=True)
class Entry:
    """One meter, what its driver is told, and the one channel taken from it."""

    meter: Mapping[str, str]
    channel: Mapping[str, str]
    options: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Source:
    """The source, and what its driver is told."""

    head: Mapping[str, str]
    options: Mapping[str, str]


def text(
    head: Mapping[str, str], levels: Mapping[str, str], entries: list[Entry], source: Source | None = None
) -> str:
    """The file's TOML."""
    tables = [_table("[bench]", head), _table("[levels]", levels)]
    for entry in entries:
        tables.append(_table("[[meter]]", entry.meter))
        if entry.options:
            tables.append(_table("[meter.options]", entry.options))
    tables += [_table("[[channel]]", entry.channel) for entry in entries]
    if source is not None:
        tables += [_table("[[source]]", source.head), _table("[source.options]", source.options)]
    return "\n".join([HEADER, *tables])


def _table(head: str, values: Mapping[str, str] | Mapping[str, float]) -> str:
    return "\n".join([head, *(f"{key} = {_quoted(value)}" for key, value in values.items())]) + "\n"


def _quoted(value: str | float) -> str:
    """A number as it is. A JSON string is a TOML basic string, but for DEL, which TOML wants escaped."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
