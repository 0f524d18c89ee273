"""Our records as JSON: what JSON has no number for becomes null, never a bare NaN that no page can read."""

import json
import math
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from datetime import date
from enum import StrEnum
from typing import Any

_AS_IT_IS = frozenset({bool, int, str, type(None)})


def plain(value: Any) -> Any:
    """Dataclasses, enums, tuples and sets as what JSON knows; bytes as hexadecimal; infinite and NaN as None.

    TypeError: something else.
    """
    if type(value) in _AS_IT_IS:  # nearly all there is, and this is done for every live message
        return value
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, (int, str, date, bytes)):
        return _single(value)
    if isinstance(value, (list, tuple, set, frozenset)):
        return [plain(item) for item in (sorted(value) if isinstance(value, (set, frozenset)) else value)]
    if isinstance(value, Mapping):
        return {str(key): plain(item) for key, item in value.items()}
    if is_dataclass(value) and not isinstance(value, type):
        return record(value)
    raise TypeError(f"{type(value).__name__} has no form in JSON")


def _single(value: int | str | date | bytes) -> int | str:
    match value:
        case StrEnum() | date():
            return str(value)
        case bytes():
            return value.hex()
    return value


def record(value: Any) -> dict[str, Any]:
    """A dataclass as a JSON object."""
    return {field.name: plain(getattr(value, field.name)) for field in fields(value)}


def dumped(value: Any) -> str:
    """As text, on one line."""
    return json.dumps(plain(value), allow_nan=False, ensure_ascii=False, separators=(",", ":"))
