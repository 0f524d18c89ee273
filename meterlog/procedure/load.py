"""From the text of a procedure file to a `Procedure`, or to all its problems with file, line and field."""

import hashlib
from collections.abc import Callable, Iterable
from pathlib import Path

from pydantic import ValidationError

from meterlog.files import (
    NO_REFERENCES,
    FileError,
    Location,
    Problem,
    Severity,
    parse_toml,
    problems_in,
    read_text,
    references_in,
    refuse_other,
)
from meterlog.procedure.checks import Finding, findings_in
from meterlog.procedure.errors import ProcedureError
from meterlog.procedure.loops import unused_loops, write_out
from meterlog.procedure.model import PATTERNS, Procedure
from meterlog.quantity import References


def load_procedure(path: Path, references: References = NO_REFERENCES) -> Procedure:
    """Read a file. ProcedureError with every error found; `references` are the bench's."""
    try:
        return load_procedure_text(read_text(path), str(path), references)
    except FileError as error:
        raise ProcedureError(error.problems) from error


def load_procedure_text(text: str, file: str, references: References = NO_REFERENCES) -> Procedure:
    """As `load_procedure`, from a text; `file` is the name that messages show."""
    procedure = _read(text, file, references)
    errors = [found for found in findings_in(procedure) if found.severity is Severity.ERROR]
    if errors:
        raise ProcedureError(point_at(errors, text, file))
    return procedure


def warnings_in(procedure: Procedure, file: str) -> list[Problem]:
    """What a person should think about in a sound procedure; `file` is the name that messages show."""
    found = [one for one in findings_in(procedure) if one.severity is Severity.WARNING]
    idle = [
        Problem.at(place, what, procedure.text, file, Severity.WARNING)
        for place, what in unused_loops(parse_toml(procedure.text, file))
    ]
    return _in_order([*idle, *point_at(found, procedure.text, file)])


def point_at(found: Iterable[Finding], text: str, file: str) -> list[Problem]:
    """Each finding once, with its line in the text of the file."""
    in_file = _in_file(write_out(parse_toml(text, file), text, file).origins)
    return _in_order(Problem.at(in_file(one.place), one.message, text, file, one.severity) for one in found)


def _in_order(problems: Iterable[Problem]) -> list[Problem]:
    """What is wrong with a step in a loop is told once, not once for each round."""
    return sorted(dict.fromkeys(problems), key=lambda problem: problem.line)


_OTHER = "this is a bench file, not a procedure; `meterlog bench check` looks at those"


def _read(text: str, file: str, references: References) -> Procedure:
    try:
        data = parse_toml(text, file)
        refuse_other(data, "meter", "step", what=_OTHER, text=text, file=file)
        context = {"references": references_in(data, references)}
        written = write_out(data, text, file)
        procedure = Procedure.model_validate(written.data, context=context)
    except FileError as error:
        raise ProcedureError(error.problems) from error
    except ValidationError as error:
        in_file = _in_file(written.origins)
        found = problems_in(error, text, file, in_file=in_file, choices=", ".join(PATTERNS))
        raise ProcedureError(list(dict.fromkeys(found))) from error
    digest = hashlib.sha256(text.encode()).hexdigest()
    return procedure.model_copy(update={"text": text, "digest": digest})


def _in_file(origins: tuple[int, ...]) -> Callable[[Location], Location]:
    """From a place in what was validated to one in the file: loops are written out there, and pydantic puts
    the pattern's name behind the number of a step."""

    def place_in_file(location: Location) -> Location:
        if len(location) < 2 or location[0] != "step" or not isinstance(location[1], int):
            return location
        rest = location[3:] if len(location) > 2 and location[2] in PATTERNS else location[2:]
        return ("step", origins[location[1]], *rest)

    return place_in_file
