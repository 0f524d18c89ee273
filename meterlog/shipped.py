"""The files that come with meterlog: beside the package in a checkout, inside it in an installed wheel."""

from pathlib import Path
from typing import Literal

_PACKAGE = Path(__file__).parent
_PLACES = (_PACKAGE / "config", _PACKAGE.parent / "config")


def shipped(kind: Literal["procedures", "bench", "meters", "dialects", "profiles"]) -> list[Path]:
    """The TOML files of this kind, by name; an empty list if none came along."""
    folder = next((place / kind for place in _PLACES if (place / kind).is_dir()), None)
    return sorted(folder.glob("*.toml")) if folder else []
