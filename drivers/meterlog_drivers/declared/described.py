"""Finding and reading a file that describes a meter: a shipped one by its name, or one's own by its path."""

import hashlib
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

from meterlog.files import FileError, Location, parse_toml, read_text, tables_in
from meterlog.reading import Identity
from meterlog.shipped import shipped
from meterlog_drivers.declared.common_model import Description

Model = TypeVar("Model", bound=Description)


@dataclass(frozen=True, slots=True)
class Described(Generic[Model]):
    """A sound file. digest: of its text, SHA-256 in hex."""

    tables: Model
    digest: str

    def identity(self, more: str = "") -> Identity:
        """As the record keeps it: by which description the meter was read."""
        name, behind = self.tables.head.name, f": {more}" if more else ""
        return Identity(text=f"{name} (dialect {self.digest[:8]}){behind}")


def read_described(
    path: Path, model: type[Model], misfits: Callable[[Model], Iterator[tuple[Location, str]]]
) -> Described[Model]:
    """FileError with every problem, file:line: field: what would be right.

    misfits: what only the tables together can tell, looked for once each is sound by itself
    """
    text = read_text(path)
    data = parse_toml(text, str(path))
    tables = tables_in(model, data, text, str(path), misfits=misfits, in_file=_without_unions)
    return Described(tables, hashlib.sha256(text.encode()).hexdigest())


def described_by(dialect: str, kind: str, load: Callable[[Path], Described[Model]]) -> Described[Model]:
    """The file that a bench file names. ValueError: there is none; FileError: all that is wrong in it."""
    return load(find_file(dialect, kind))


def find_file(dialect: str, kind: str) -> Path:
    """kind: the table that such a file has. ValueError: no dialect was named, or none has this name."""
    if dialect.endswith(".toml"):
        return Path(dialect)
    for path in shipped("dialects"):
        if path.stem == dialect and _is_of(kind, path):
            return path
    known = (
        ", ".join(path.stem for path in shipped("dialects") if _is_of(kind, path)) or "none that came along"
    )
    missing = f"no dialect {dialect!r} is known" if dialect else "dialect is missing"
    raise ValueError(
        f'{missing}; write dialect = "my-meter.toml", a file that describes the meter, or one of {known}'
    )


def _is_of(kind: str, path: Path) -> bool:
    try:
        return kind in parse_toml(read_text(path), str(path))
    except FileError:
        return False


def _without_unions(place: tuple[str | int, ...]) -> tuple[str | int, ...]:
    """Without the names that pydantic gives to the members of a union and to validators."""
    return tuple(part for part in place if isinstance(part, int) or "[" not in part)
