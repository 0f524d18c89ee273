"""From the text of a procedure file to a `Procedure`, or to all its problems with file, line and field."""

import hashlib
import tomllib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from meterlog.procedure.errors import Problem, ProcedureError
from meterlog.procedure.model import (
    PATTERNS,
    Alternate,
    Condition,
    Levels,
    Procedure,
    Step,
)
from meterlog.quantity import References, Unit
from meterlog.toml_lines import find_line

Location = tuple[str | int, ...]
NO_REFERENCES = References()


def load_procedure(path: Path, references: References = NO_REFERENCES) -> Procedure:
    """Read a file. ProcedureError with every problem found; `references` are the bench's."""
    try:
        text = path.read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError) as error:
        raise ProcedureError([Problem(str(path), 1, "", f"cannot be read: {error}")]) from error
    return load_procedure_text(text, str(path), references)


def load_procedure_text(text: str, file: str, references: References = NO_REFERENCES) -> Procedure:
    """As `load_procedure`, from a text; `file` is the name that messages show."""
    data = _parse(text, file)
    try:
        in_force = _references(data.get("levels", {}), references)
        procedure = Procedure.model_validate(data, context={"references": in_force})
    except ValidationError as error:
        raise ProcedureError(_problems(error, text, file)) from error
    if misfits := list(_misfits(procedure)):
        raise ProcedureError([Problem(file, find_line(text, at), _dotted(at), what) for at, what in misfits])
    digest = hashlib.sha256(text.encode()).hexdigest()
    return procedure.model_copy(update={"text": text, "digest": digest})


def _parse(text: str, file: str) -> dict[str, Any]:
    try:
        return tomllib.loads(text)
    except tomllib.TOMLDecodeError as error:
        line = getattr(error, "lineno", None) or _line_in_message(str(error), text)
        raise ProcedureError([Problem(file, line, "", f"no valid TOML: {error}")]) from error


def _line_in_message(message: str, text: str) -> int:
    """Python before 3.14 says the line only in words: "... (at line 3, column 5)"."""
    _, _, rest = message.partition("at line ")
    digits = rest.partition(",")[0]
    return int(digits) if digits.isdigit() else max(1, text.count("\n"))


def _references(levels: object, bench: References) -> References:
    """What the file states counts before what the bench states."""
    if not isinstance(levels, dict):
        return bench
    try:
        own = Levels.model_validate(levels, context={"references": bench})
    except ValidationError:
        return bench  # the same error is found again, with its place, when the whole file is read
    return References(
        vu=own.vu or bench.vu, dbfs=own.dbfs or bench.dbfs, dbm_ohm=own.dbm_ohm or bench.dbm_ohm
    )


def _problems(error: ValidationError, text: str, file: str) -> list[Problem]:
    found = []
    for item in error.errors():
        place = _in_file(item["loc"])
        found.append(Problem(file, find_line(text, place), _dotted(place), _in_words(item)))
    return sorted(found, key=lambda problem: problem.line)


def _in_file(location: Location) -> Location:
    """Without the pattern's name, which pydantic puts behind the number of a step."""
    tagged = len(location) > 2 and location[0] == "step" and location[2] in PATTERNS
    return location[:2] + location[3:] if tagged else location


def _in_words(item: Any) -> str:
    kind, context = item["type"], item.get("ctx", {})
    if kind == "extra_forbidden":
        return "no such field here; look for a misspelling"
    if kind == "missing":
        return "missing; this pattern needs it"
    if kind in ("union_tag_invalid", "union_tag_not_found"):
        return f"pattern must be one of {', '.join(PATTERNS)}"
    if kind == "value_error":
        return str(context.get("error", item["msg"]))
    return str(item["msg"])


def _dotted(place: Location) -> str:
    return ".".join(str(part + 1) if isinstance(part, int) else part for part in place)


def _misfits(procedure: Procedure) -> Iterator[tuple[Location, str]]:
    """What only the whole file can tell: names used twice, channels and units that do not fit."""
    yield from _repeated("step", [step.id for step in procedure.steps], "id")
    yield from _repeated("channel", [channel.name for channel in procedure.channels], "name")
    for index, step in enumerate(procedure.steps):
        yield from _step_misfits(procedure, ("step", index), step)


def _repeated(table: str, names: list[str], key: str) -> Iterator[tuple[Location, str]]:
    for name, count in Counter(names).items():
        if count > 1:
            second = [index for index, other in enumerate(names) if other == name][1]
            yield (table, second, key), f"{name!r} is used twice"


def _step_misfits(procedure: Procedure, place: Location, step: Step) -> Iterator[tuple[Location, str]]:
    known = [channel.name for channel in procedure.channels]
    parts: list[tuple[Location, Any]] = [(place, step)]
    if isinstance(step, Alternate):
        parts = [((*place, "condition", number), part) for number, part in enumerate(step.condition)]
    for where, part in parts:
        name = getattr(part, "channel", None)
        if name is not None and name not in known:
            yield (*where, "channel"), f"no channel {name!r} is declared; declared are {', '.join(known)}"
        elif name is not None:
            yield from _unit_misfits(procedure.channel(name).unit, where, part)


def _unit_misfits(unit: Unit, where: Location, part: "Step | Condition") -> Iterator[tuple[Location, str]]:
    target = getattr(part, "target", None)
    if target is not None and target.scale.unit != unit:
        yield (*where, "target"), f"{target} is no level of a channel in {unit.value}"
    for field in ("tolerance", "settle", "bracket", "fall", "drift_per_minute"):
        span = getattr(part, field, None)
        if span is not None and span.kind not in ("dB", "%", unit):
            yield (*where, field), f"{span} does not fit a channel in {unit.value}"
        elif span is not None and target is not None and span.half_width(target.base) <= 0:
            advice = f'write an absolute one, for example "1 m{unit.value}"'
            yield (*where, field), f"{span} of {target} is nothing; {advice}"
