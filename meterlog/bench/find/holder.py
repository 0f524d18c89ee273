"""Which program has a port open, as far as the system tells: on Linux, for programs of the same user."""

import os
from collections.abc import Iterator
from contextlib import suppress
from pathlib import Path

_PROCESSES = Path("/proc")


def holder_of(path: str, processes: Path = _PROCESSES) -> str:
    """As "process 4711, screen"; "" if it is not known."""
    real = os.path.realpath(path)
    for process in _numbered(processes):
        if process.name != str(os.getpid()) and real in _open_files(process):
            with suppress(OSError):
                return f"process {process.name}, {(process / 'comm').read_text().strip()}"
    return ""


def _numbered(folder: Path) -> Iterator[Path]:
    with suppress(OSError):
        yield from (entry for entry in folder.iterdir() if entry.name.isdigit())


def _open_files(process: Path) -> set[str]:
    found = set()
    with suppress(OSError):
        for descriptor in (process / "fd").iterdir():
            with suppress(OSError):
                found.add(str(descriptor.readlink()))
    return found
