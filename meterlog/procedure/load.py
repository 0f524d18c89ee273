"""From the text of a procedure file to a `Procedure`, or to all its problems with file, line and field."""

import hashlib
from collections import Counter
from collections.abc import Callable, Iterator
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
from meterlog.procedure.loops import write_out
from meterlog.procedure.model import PATTERNS, Alternate, BackOff, Condition, Guard, Procedure, Step
from meterlog.quantity import Offset, References, Unit


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
        written = write_out(data, text, file)
        in_file = _in_file(written.origins)
        procedure = Procedure.model_validate(written.data, context=context)
    except FileError as error:
        raise ProcedureError(error.problems) from error
    except ValidationError as error:
        found = problems_in(error, text, file, in_file=in_file, choices=", ".join(PATTERNS))
        raise ProcedureError(list(dict.fromkeys(found))) from error
    if misfits := list(_misfits(procedure)):
        found = [Problem.at(in_file(place), what, text, file) for place, what in misfits]
        raise ProcedureError(list(dict.fromkeys(found)))
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


def _misfits(procedure: Procedure) -> Iterator[tuple[Location, str]]:
    """What only the whole file can tell: names used twice, channels and units that do not fit."""
    yield from _repeated("step", [step.id for step in procedure.steps], "id")
    yield from _repeated("channel", [channel.name for channel in procedure.channels], "name")
    for index, step in enumerate(procedure.steps):
        yield from _step_misfits(procedure, ("step", index), step)
        yield from _need_misfits(procedure, ("step", index), index)
    for index, guard in enumerate(procedure.guards):
        yield from _guard_misfits(procedure, ("guard", index), guard)


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


def _need_misfits(procedure: Procedure, place: Location, index: int) -> Iterator[tuple[Location, str]]:
    """A step may rest on earlier ones only, and on such as come to a value in the same unit."""
    step, earlier = procedure.steps[index], procedure.steps[:index]
    for name in step.needs:
        rested_on = next((other for other in earlier if other.id == name), None)
        if rested_on is None:
            known = ", ".join(other.id for other in earlier if other.yields) or "none"
            yield place, f"no step {name!r} comes before this one; steps with a value are {known}"
        elif not rested_on.yields:
            yield place, f"step {name!r} comes to no value"


def _guard_misfits(procedure: Procedure, place: Location, guard: Guard) -> Iterator[tuple[Location, str]]:
    channels = {channel.name: channel for channel in procedure.channels}
    channel = channels.get(guard.channel)
    if channel is None:
        yield (
            (*place, "channel"),
            f"no channel {guard.channel!r} is declared; declared are {', '.join(channels)}",
        )
    for field, limit in (("never_above", guard.never_above), ("never_below", guard.never_below)):
        if channel is not None and limit is not None and limit.scale.unit is not channel.unit:
            yield (*place, field), f"{limit} is no level of a channel in {channel.unit.value}"
    ids = [step.id for step in procedure.steps]
    for field, name in (("from_step", guard.from_step), ("to_step", guard.to_step)):
        if name is not None and name not in ids:
            yield (*place, field), f"no step {name!r}; there is {', '.join(ids)}"


def _fall_misfits(place: Location, step: BackOff) -> Iterator[tuple[Location, str]]:
    """Beside the fall, the bracket and the tolerance must be small, or the extremum itself would do."""
    for field, span in (("bracket", step.bracket), ("tolerance", step.tolerance)):
        if span.kind == step.fall.kind and span.amount >= step.fall.amount:
            yield (*place, field), f"{span} must be less than the fall of {step.fall}"


def _unit_misfits(unit: Unit, where: Location, part: "Step | Condition") -> Iterator[tuple[Location, str]]:
    target = getattr(part, "target", None)
    if isinstance(target, Offset):
        target = None  # its level is only known in the session
    if target is not None and target.scale.unit != unit:
        yield (*where, "target"), f"{target} is no level of a channel in {unit.value}"
    for field in ("tolerance", "settle", "bracket", "fall", "drift_per_minute"):
        span = getattr(part, field, None)
        if span is not None and span.kind not in ("dB", "%", unit):
            yield (*where, field), f"{span} does not fit a channel in {unit.value}"
        elif span is not None and target is not None and span.half_width(target.base) <= 0:
            advice = f'write an absolute one, for example "1 m{unit.value}"'
            yield (*where, field), f"{span} of {target} is nothing; {advice}"
