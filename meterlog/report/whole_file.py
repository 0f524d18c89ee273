"""A file that appears whole or not at all.

A report or an export that was half written when the disk filled must never stand where a whole one stood,
so everything is written beside the place it is meant for and then takes that place in one step.
"""

import os
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from secrets import token_hex

from meterlog.report.errors import ReportError


@contextmanager
def whole_file(path: Path) -> Iterator[Path]:
    """Yield a path to write to; it becomes `path` when the block ends, and vanishes if the block raises.

    ReportError: `path` is a folder, the one it lies in does not exist or cannot be written to, or the disk is
    full. Whatever stood at `path` before is then still there, untouched.
    """
    if path.is_dir():  # known before the block runs: what it keeps elsewhere would stay
        raise ReportError(f"{path} cannot be written: it is a folder; name a file in it.")
    # In the same folder, for only within one file system is a rename one step.
    draft = path.with_name(f".{path.name}.{token_hex(4)}")
    try:
        draft.touch(exist_ok=False)
        yield draft
        _put_in_place(draft, path)
    except OSError as error:
        raise _unwritable(path, error) from error
    finally:
        with suppress(OSError):
            draft.unlink()


def _put_in_place(draft: Path, path: Path) -> None:
    with draft.open("rb+") as file:
        os.fsync(file.fileno())
    draft.replace(path)


def _unwritable(path: Path, error: OSError) -> ReportError:
    return ReportError(
        f"{path} cannot be written: {error.strerror or error}. "
        "Choose another place, or make room and write permission there; what stood there is untouched."
    )
