"""What is wrong with a procedure file: every problem at once, each with its place."""

from dataclasses import dataclass

from meterlog.errors import MeterlogError


@dataclass(frozen=True, slots=True)
class Problem:
    """One thing to mend. `field` is dotted, empty for the file as a whole."""

    file: str
    line: int
    field: str
    message: str

    def __str__(self) -> str:
        field = f"{self.field}: " if self.field else ""
        return f"{self.file}:{self.line}: {field}{self.message}"


class ProcedureError(MeterlogError):
    """The file cannot be used; `problems` holds at least one entry, the text holds them all."""

    def __init__(self, problems: list[Problem]) -> None:
        super().__init__("\n".join(str(problem) for problem in problems))
        self.problems = problems


class IllegalAction(MeterlogError):  # noqa: N818 - not a fault of the program but of the moment
    """The operator asked for something that this moment does not allow; nothing has changed."""
