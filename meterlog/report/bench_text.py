"""What a report needs of the bench file that is kept with the session: its name, references and channels.

The text was checked when the session began, and the instruments it names may be long gone, so it is only
read here, not checked against anything.
"""

import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, field

from meterlog.quantity import References, Scale, parse_scale
from meterlog.reading import Coupling
from meterlog.records.rebuild import references_of


@dataclass(frozen=True, slots=True)
class Laboratory:
    """Who did the work, as the bench file says it; "" where it says nothing."""

    name: str = ""
    address: str = ""


@dataclass(frozen=True, slots=True)
class BenchText:
    """`shows` holds the scale of each channel that states one, `meters` the meter of each, `reads` its
    function and coupling.

    specifications: the texts that say what its meters can do, by their names; profiles: those with their own
    frequency responses, by the channels, of which `corrected` names those that it was taken out of.
    """

    name: str
    references: References
    shows: Mapping[str, Scale]
    meters: Mapping[str, str]
    reads: Mapping[str, tuple[str, Coupling]]
    laboratory: Laboratory = Laboratory()
    specifications: Mapping[str, str] = field(default_factory=dict)
    profiles: Mapping[str, str] = field(default_factory=dict)
    corrected: frozenset[str] = frozenset()


def _laboratory(table: Mapping[str, str]) -> Laboratory:
    return Laboratory(table.get("name", ""), table.get("address", ""))


def read_bench_text(
    text: str, specifications: Mapping[str, str] | None = None, profiles: Mapping[str, str] | None = None
) -> BenchText:
    """From the TOML of a bench file. Its errors are those of `tomllib` and `meterlog.quantity`."""
    data = tomllib.loads(text)
    references = references_of(text)
    channels = data.get("channel", [])
    return BenchText(
        name=data.get("bench", {}).get("name", ""),
        references=references,
        shows={c["name"]: parse_scale(c["show"], references) for c in channels if "show" in c},
        meters={c["name"]: c["meter"] for c in channels},
        reads={c["name"]: (c.get("function", "voltage"), Coupling(c.get("coupling", ""))) for c in channels},
        laboratory=_laboratory(data.get("laboratory", {})),
        specifications=specifications or {},
        profiles=profiles or {},
        corrected=frozenset(c["name"] for c in channels if c.get("correct")),
    )
