"""What is wrong with a TOML file: every problem at once, each with file, line and field."""

import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from meterlog.errors import MeterlogError
from meterlog.files.lines import Location, find_line
from meterlog.files.wording import in_words


class Severity(StrEnum):
    """An error keeps a file from being used; a warning is for a person to think about."""

    ERROR = "error"
    WARNING = "warning"


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to mend. `field` is dotted and counts from 1, empty for the file as a whole."""

    file: str
    line: int
    field: str
    message: str
    severity: Severity = Severity.ERROR

    @classmethod
    def at(
        cls, place: Location, message: str, text: str, file: str, severity: Severity = Severity.ERROR
    ) -> "Problem":
        field = ".".join(str(part + 1) if isinstance(part, int) else part for part in place)
        return cls(file, find_line(text, place), field, message, severity)

    def __str__(self) -> str:
        field = f"{self.field}: " if self.field else ""
        mark = "warning: " if self.severity is Severity.WARNING else ""
        return f"{self.file}:{self.line}: {field}{mark}{self.message}"


class FileError(MeterlogError, ValueError):
    """The file cannot be used; `problems` holds at least one entry, the text holds them all.

    A ValueError too: for a driver the file that its settings name is one of its settings.
    """

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems


def read_text(path: Path) -> str:
    """The file as text, without a byte order mark. FileError if it cannot be read."""
    try:
        written = path.read_bytes()
    except OSError as error:
        raise FileError([Problem(str(path), 1, "", f"cannot be read: {_why(error)}")]) from error
    try:
        return written.decode("utf-8-sig").replace("\r\n", "\n")
    except UnicodeDecodeError as error:
        line = written[: error.start].count(b"\n") + 1
        what = "cannot be read: a letter here is not UTF-8; save the file as UTF-8"
        raise FileError([Problem(str(path), line, "", what)]) from error


def _why(error: OSError) -> str:
    match error:
        case FileNotFoundError():
            return "there is no such file"
        case IsADirectoryError():
            return "it is a folder; name a file in it"
        case _:
            return error.strerror or str(error)


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """FileError with the line where it is no TOML."""
    try:
        return tomllib.loads(text.removeprefix("\ufeff"))
    except tomllib.TOMLDecodeError as error:
        line = getattr(error, "lineno", None) or _line_in_message(str(error), text)
        raise FileError([Problem(file, line, "", _of_toml(str(error)))]) from error


def _of_toml(message: str) -> str:
    """What stands there twice is told in words; for the rest those of the parser have to do."""
    twice = re.match(r"Cannot declare \((.*?),?\) twice", message)
    if twice:
        name = ".".join(part.strip().strip("'") for part in twice[1].split(","))
        return f"there is a [{name}] already; write what belongs together in one"
    if message.startswith("Cannot overwrite a value"):
        return "this key stands there already; remove one of the two"
    return f"no valid TOML: {message}"


def refuse_other(data: dict[str, Any], theirs: str, ours: str, *, what: str, text: str, file: str) -> None:
    """FileError, `what`, for a file that has the table of another kind of file and not that of this kind."""
    if theirs in data and ours not in data:
        raise FileError([Problem.at((theirs,), what, text, file)])


def _line_in_message(message: str, text: str) -> int:
    """Python before 3.14 says the line only in words: "... (at line 3, column 5)"."""
    _, _, rest = message.partition("at line ")
    digits = rest.partition(",")[0]
    return int(digits) if digits.isdigit() else max(1, text.count("\n"))


def problems_in(
    error: ValidationError,
    text: str,
    file: str,
    *,
    in_file: Callable[[Location], Location] = lambda place: place,
    choices: str = "",
) -> list[Problem]:
    """What pydantic found, in the file's own terms and order.

    in_file  takes out of a location what is pydantic's and not the file's
    choices  the words that the key of a union may hold
    """
    found = [
        Problem.at(in_file(_place(item)), in_words(item, choices), text, file) for item in error.errors()
    ]
    return sorted(found, key=lambda problem: problem.line)


def _place(item: Any) -> Location:
    """Of a union's key that is amiss pydantic gives the table, not the key."""
    key = str(item.get("ctx", {}).get("discriminator", "")).strip("'")
    place: Location = item["loc"]
    return (*place, key) if key else place
