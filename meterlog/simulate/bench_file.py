"""The bench file for the daemon, written anew at each start because the ports may be others."""

import json
from collections.abc import Mapping
from dataclasses import dataclass

HEADER = """\
# The simulated bench as meterlog sees it: meters with addresses, nothing else.
# Written by `meterlog-simulate run` at every start; changes made here will be lost.
"""


@dataclass(frozen=True, slots=True)
class Entry:
    """One meter and the one channel taken from it."""

    meter: Mapping[str, str]
    channel: Mapping[str, str]


def text(head: Mapping[str, str], levels: Mapping[str, str], entries: list[Entry]) -> str:
    """The file's TOML."""
    tables = [_table("[bench]", head), _table("[levels]", levels)]
    tables += [_table("[[meter]]", entry.meter) for entry in entries]
    tables += [_table("[[channel]]", entry.channel) for entry in entries]
    return "\n".join([HEADER, *tables])


def _table(head: str, values: Mapping[str, str]) -> str:
    return "\n".join([head, *(f"{key} = {_quoted(value)}" for key, value in values.items())]) + "\n"


def _quoted(value: str) -> str:
    """A JSON string is a TOML basic string, but for DEL, which TOML wants escaped."""
    return json.dumps(value, ensure_ascii=False).replace("\x7f", "\\u007f")
