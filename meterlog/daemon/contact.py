"""DATA/daemon.json: where the daemon of this data folder answers, for programs of the same user."""

import json
import os
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from pathlib import Path

from meterlog.daemon.errors import NoDaemon

_START = "start it with: meterlog serve"


@dataclass(frozen=True, slots=True)
class Contact:
    url: str
    token: str
    pid: int


@contextmanager
def published(folder: Path, contact: Contact) -> Iterator[None]:
    """Readable by its owner alone, for the token in it allows writes; gone when the daemon is."""
    path = _path(folder)
    draft = path.with_suffix(".new")
    draft.unlink(missing_ok=True)
    with os.fdopen(os.open(draft, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w") as file:
        json.dump(asdict(contact), file)
    draft.replace(path)
    try:
        yield
    finally:
        path.unlink(missing_ok=True)


def read_contact(folder: Path) -> Contact:
    """NoDaemon: none has said where it is, or what it said cannot be read."""
    path = _path(folder)
    try:
        return Contact(**json.loads(path.read_text()))
    except FileNotFoundError as error:
        raise NoDaemon(f"no daemon runs for {folder}; {_START}") from error
    except (OSError, ValueError, TypeError) as error:
        raise NoDaemon(f"{path} cannot be read ({error}); {_START}") from error


def _path(folder: Path) -> Path:
    return folder / "daemon.json"
