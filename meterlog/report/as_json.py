"""The report as plain data for the typesetter: every text as it is to be read, none of it markup."""

from dataclasses import fields, is_dataclass
from datetime import datetime
from typing import Any

from meterlog.report.shown import Shown
from meterlog.report.typography import factor, number, utc, when

_NUMBERS = frozenset(
    {
        "line",
        "target",
        "window",
        "risk",
        "passes",
        "value",
        "limit",
        "levels",
        "overrides",
        "temperature",
        "humidity",
        "environment",
    }
)
"""Fields whose texts hold numbers, to be set as such."""


def as_json(thing: Any, field: str = "") -> Any:
    """Moments as local time and UTC, coverage factors as text. Charts are left out: they are drawn apart."""
    if isinstance(thing, tuple):
        return [as_json(one, field) for one in thing]
    if is_dataclass(thing) and not isinstance(thing, Shown):
        names = (one.name for one in fields(thing) if one.name != "charts")
        return {name: as_json(getattr(thing, name), name) for name in names}
    return _one(thing, field)


def _one(thing: Any, field: str) -> Any:
    match thing:
        case Shown():
            return {one.name: number(getattr(thing, one.name)) for one in fields(thing)}
        case datetime():
            return {"local": when(thing), "utc": utc(thing)}
        case str():
            return number(thing) if field in _NUMBERS else str(thing)
        case float():
            return factor(thing)
        case _:
            return thing
