"""From the name of a dialect or the path of a file to a `Dialect`, or to all its problems.

A file may begin with `like = "plain"`: then it says only what is different from that dialect. Tables are
merged key by key; lists and values replace what was there, and so does a probe, which is one thing.
"""

from collections.abc import Mapping
from functools import cache
from pathlib import Path
from typing import Any

from pydantic import TypeAdapter, ValidationError

from meterlog.files import FileError, Problem, parse_toml, problems_in, read_text
from meterlog_drivers.scpi.dialect import Dialect

FOLDER = Path(__file__).parent / "dialects"
PLAIN = "plain"
PROBED = ("memory-band", "remove-band", "band", "elements", "detector-band", "plugin-band", "two-display")
"""Those that are looked for where the bench file names none, in this order; the first that proves itself is
taken. A dialect whose question is answered by another's meter too comes after that one."""

_ADAPTER = TypeAdapter(Dialect)


def shipped() -> list[str]:
    """The names a bench file may give."""
    return sorted(path.stem for path in FOLDER.glob("*.toml"))


def find_dialect(name: str) -> Dialect:
    """By the name of a shipped dialect, or by the path of a file. ValueError: there is none; FileError."""
    if name.endswith(".toml"):
        return _load(Path(name))
    if name not in shipped():
        raise ValueError(
            f"no dialect {name!r}; there are {', '.join(shipped())}, or the path of a .toml file"
        )
    return _shipped(name)


@cache
def _shipped(name: str) -> Dialect:
    return _load(FOLDER / f"{name}.toml")


def _load(path: Path) -> Dialect:
    text = read_text(path)
    data = parse_toml(text, str(path))
    return _checked(_whole(data, text, path) | {"name": path.stem}, text, path)


def _whole(data: dict[str, Any], text: str, path: Path) -> dict[str, Any]:
    """With what it is like filled in. What another file lacks is told there, not here."""
    like = data.pop("like", None)
    if like is None:
        return data
    if like not in shipped() or like == path.stem:
        message = f"no dialect {like!r} to be like; there are {', '.join(shipped())}"
        raise FileError([Problem.at(("like",), message, text, str(path))])
    base = FOLDER / f"{like}.toml"
    base_text = read_text(base)
    return _merged(_whole(parse_toml(base_text, str(base)), base_text, base), data)


def _merged(base: Mapping[str, Any], over: Mapping[str, Any]) -> dict[str, Any]:
    both = {
        key: _merged(base[key], value)
        if isinstance(value, dict) and isinstance(base.get(key), dict) and key != "probe"
        else value
        for key, value in over.items()
    }
    return {**base, **both}


def _checked(data: dict[str, Any], text: str, path: Path) -> Dialect:
    try:
        return _ADAPTER.validate_python(data)
    except ValidationError as error:
        raise FileError(problems_in(error, text, str(path))) from error
