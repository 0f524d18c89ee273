"""Put an entry into a bench file: behind what is there, and only if the whole is sound."""

import os
import shutil
import tomllib
from collections.abc import Mapping
from contextlib import suppress
from pathlib import Path
from typing import Any

from meterlog.bench.bench_file import check_drivers, load_bench
from meterlog.bench.errors import BenchError
from meterlog.bench.find.entry import Entry, Taken, entry_text
from meterlog.bench.find.held import Held, holding

NEW_FILE = '[bench]\nname = "Bench"\n'


def names_in(path: Path) -> Taken:
    """The names that a bench file has; none where there is no file, or it cannot be read."""
    data = _read(path)
    return Taken(_names(data, "meter"), _names(data, "channel"))


def add_entry(path: Path, entry: Entry) -> None:
    """Append to the file, or begin a new one. BenchError: it would not be sound, and nothing was changed."""
    path = path.resolve()  # a link stays one
    before = path.read_bytes() if path.exists() else b""
    _refuse_known(path, entry)
    after = appended(before, entry_text(entry))
    draft = path.with_name(f".{path.name}.new")
    try:
        _write_draft(draft, after, path)
        _insist_on_sound(draft, path)
        if before != (path.read_bytes() if path.exists() else b""):
            raise BenchError(
                f"{path} was changed by another program meanwhile; nothing was written, try again"
            )
        draft.replace(path)
    except OSError as fault:
        raise BenchError(
            f"{path} cannot be written: {fault.strerror or fault}; nothing was changed"
        ) from fault
    finally:
        with suppress(OSError):
            draft.unlink(missing_ok=True)


def appended(before: bytes, text: str) -> bytes:
    """The bytes that were there, an empty line, the text; with the line ends that the file has."""
    end = b"\r\n" if b"\r\n" in before else b"\n"
    head = before or NEW_FILE.encode()
    rest = b"" if head.endswith(b"\n") else end
    return head + rest + end + text.encode().replace(b"\n", end)


def _write_draft(draft: Path, content: bytes, path: Path) -> None:
    with draft.open("wb") as file:
        file.write(content)
        file.flush()
        os.fsync(file.fileno())
    if path.exists():
        shutil.copymode(path, draft)


def _insist_on_sound(draft: Path, path: Path) -> None:
    """The draft lies beside the file, so that the paths in it lead to the same places."""
    try:
        check_drivers(load_bench(draft), draft)
    except BenchError as problem:
        text = str(problem).replace(str(draft), str(path))
        raise BenchError(
            f"{text}\nnothing was written: the file would not be sound with the new entry"
        ) from problem


def _refuse_known(path: Path, entry: Entry) -> None:
    """The same port may stand there under another of its names, which the file's own checks cannot see."""
    tables = [*_tables(_read(path), "meter"), *_tables(_read(path), "source")]
    held = [Held(str(table.get("address", "")), str(table.get("name", ""))) for table in tables]
    if known := holding(held, entry.address):
        raise BenchError(
            f"{path}: “{known.instrument}” is at {known.address} already, which is the same line as "
            f"{entry.address}; nothing was written"
        )


def _read(path: Path) -> Mapping[str, Any]:
    """A file that is no TOML is refused later, with its line."""
    with suppress(OSError, UnicodeDecodeError, tomllib.TOMLDecodeError):
        return tomllib.loads(path.read_text(encoding="utf-8-sig"))
    return {}


def _tables(data: Mapping[str, Any], kind: str) -> list[dict[str, Any]]:
    found = data.get(kind, [])
    return [one for one in found if isinstance(one, dict)] if isinstance(found, list) else []


def _names(data: Mapping[str, Any], kind: str) -> list[str]:
    return [str(table.get("name", "")) for table in _tables(data, kind)]
