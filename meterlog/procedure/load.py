"""From the text of a procedure file to a `Procedure`, or to all its problems with file, line and field."""

import hashlib
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from pydantic import ValidationError

from meterlog.files import (
    NO_REFERENCES,
    FileError,
    Location,
    Problem,
    parse_toml,
    problems_in,
    read_text,
    references_in,
)
from meterlog.procedure.errors import ProcedureError
from meterlog.procedure.model import PATTERNS, Alternate, BackOff, Condition, Procedure, Step
from meterlog.quantity import References, Unit


def load_procedure(path: Path, references: References = NO_REFERENCES) -> Procedure:
    """Read a file. ProcedureError with every problem found; `references` are the bench's."""
    try:
        return load_procedure_text(read_text(path), str(path), references)
    except FileError as error:
        raise ProcedureError(error.problems) from error


def load_procedure_text(text: str, file: str, references: References = NO_REFERENCES) -> Procedure:
    """As `load_procedure`, from a text; `file` is the name that messages show."""
    try:
        data = parse_toml(text, file)
        context = {"references": references_in(data, references)}
        procedure = Procedure.model_validate(data, context=context)
    except FileError as error:
        raise ProcedureError(error.problems) from error
    except ValidationError as error:
        found = problems_in(error, text, file, in_file=_in_file, choices=", ".join(PATTERNS))
        raise ProcedureError(found) from error
    if misfits := list(_misfits(procedure)):
        raise ProcedureError([Problem.at(place, what, text, file) for place, what in misfits])
    digest = hashlib.sha256(text.encode()).hexdigest()
    return procedure.model_copy(update={"text": text, "digest": digest})


def _in_file(location: Location) -> Location:
    """Without the pattern's name, which pydantic puts behind the number of a step."""
    tagged = len(location) > 2 and location[0] == "step" and location[2] in PATTERNS
    return location[:2] + location[3:] if tagged else location


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
    if isinstance(step, BackOff):
        yield from _fall_misfits(place, step)


def _fall_misfits(place: Location, step: BackOff) -> Iterator[tuple[Location, str]]:
    """Beside the fall, the bracket and the tolerance must be small, or the extremum itself would do."""
    for field, span in (("bracket", step.bracket), ("tolerance", step.tolerance)):
        if span.kind == step.fall.kind and span.amount >= step.fall.amount:
            yield (*place, field), f"{span} must be less than the fall of {step.fall}"


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
