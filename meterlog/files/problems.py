"""What is wrong with a TOML file: every problem at once, each with file, line and field."""

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from meterlog.errors import MeterlogError
from meterlog.files.lines import Location, find_line


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


class FileError(MeterlogError):
    """The file cannot be used; `problems` holds at least one entry, the text holds them all."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems


def read_text(path: Path) -> str:
    """The file as text. FileError if it cannot be read."""
    try:
        return path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise FileError([Problem(str(path), 1, "", f"cannot be read: {error}")]) from error


def parse_toml(text: str, file: str) -> dict[str, Any]:
    """FileError with the line where it is no TOML."""
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line = getattr(error, "lineno", None) or _line_in_message(str(error), text)
        raise FileError([Problem(file, line, "", f"no valid TOML: {error}")]) from error


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
        Problem.at(in_file(item["loc"]), _in_words(item, choices), text, file) for item in error.errors()
    ]
    return sorted(found, key=lambda problem: problem.line)


def _in_words(item: Any, choices: str) -> str:
    kind, context = item["type"], item.get("ctx", {})
    if kind == "extra_forbidden":
        return "no such field here; look for a misspelling"
    if kind == "missing":
        return "missing; it is needed here"
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        return f"must be one of {choices}"
    if kind == "value_error":
        return str(context.get("error", item["msg"]))
    return str(item["msg"])
