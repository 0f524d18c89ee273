"""The columns of the tables of an export and what each holds. A name means the same in every table."""

from collections.abc import Sequence
from datetime import datetime

SETTLED_COLUMNS = (
    "session", "unit model", "unit serial", "number", "step", "title", "pass", "role", "condition", "round",
    "channel", "value", "unit", "shown value", "shown unit", "expanded uncertainty",
    "shown uncertainty down", "shown uncertainty up", "uncertainty unit", "coverage factor", "readings",
    "target", "low", "high", "verdict", "time", "attempt", "replaces", "counts", "reason", "unit condition",
    "left alone", "about", "decision rule", "standard uncertainty", "degrees of freedom", "budget",
    "temperature", "humidity", "correction dB", "passes from", "passes to",
)  # fmt: skip
TRIP_COLUMNS = (
    "session", "unit model", "unit serial", "guard", "step", "title", "pass", "channel", "value", "unit",
    "shown value", "shown unit", "limit", "shown limit", "time",
)  # fmt: skip
READING_COLUMNS = (
    "session", "time", "seconds", "channel", "value", "unit", "shown value", "shown unit", "state",
    "coupling", "resolution", "range", "function", "flags", "raw",
)  # fmt: skip

_NOT_TEXT: dict[type, Sequence[str]] = {
    int: ("session", "number", "round", "readings", "attempt", "replaces", "about"),
    float: (
        "value", "shown value", "expanded uncertainty", "shown uncertainty down", "shown uncertainty up",
        "coverage factor", "target", "low", "high", "standard uncertainty", "degrees of freedom", "limit",
        "shown limit", "seconds", "resolution", "range", "temperature", "humidity", "correction dB",
        "passes from", "passes to",
    ),
    datetime: ("time",),
    tuple: ("budget",),
}  # fmt: skip
_KINDS = {column: kind for kind, columns in _NOT_TEXT.items() for column in columns}


def kind_of(column: str) -> type:
    """int, float, datetime, tuple (a budget) or str. Any cell may be None."""
    return _KINDS.get(column, str)


def key_of(column: str) -> str:
    """The name where programs read it: "shown_value"."""
    return column.replace(" ", "_").lower()
