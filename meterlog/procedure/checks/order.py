"""Order: what rests on what, where guards begin and end, and what no pass would run."""

from collections.abc import Iterator

from meterlog.files import Location
from meterlog.procedure.checks.finding import Finding, warning
from meterlog.procedure.model import Guard, Procedure, Safety, SetSource, Step
from meterlog.procedure.parts import steps_of
from meterlog.procedure.plan import plan_of


def rests(procedure: Procedure) -> Iterator[Finding]:
    """A step may rest on earlier ones only, and on such as come to a value."""
    places = {step.id: index for index, step in enumerate(procedure.steps)}
    for index, (place, step) in enumerate(steps_of(procedure)):
        for name in dict.fromkeys(step.needs):
            amiss = _rested_amiss(procedure.steps, index, places.get(name), name)
            if amiss:
                yield Finding(_named_at(place, step, name), amiss)


def _rested_amiss(steps: list[Step], index: int, rested: int | None, name: str) -> str:
    if rested is not None and rested < index:
        return "" if steps[rested].yields else f"step {name!r} comes to no value; name one that does"
    known = ", ".join(other.id for other in steps[:index] if other.yields) or "none"
    why = "" if rested is None else ": it is this one" if rested == index else ": it comes later"
    return f"no step {name!r} comes before this one{why}; steps with a value are {known}"


def _named_at(place: Location, step: Step, name: str) -> Location:
    """The key that names it, where the step itself has one."""
    fields = (field for field in type(step).model_fields if field != "id")
    field = next((field for field in fields if _names(getattr(step, field), name)), None)
    return place if field is None else (*place, field)


def _names(value: object, name: str) -> bool:
    return value == name or getattr(value, "step", None) == name


def guard_ranges(procedure: Procedure) -> Iterator[Finding]:
    for index, guard in enumerate(procedure.guards):
        yield from _range_amiss(("guard", index), guard, procedure.steps)


def _range_amiss(place: Location, guard: Guard, steps: list[Step]) -> Iterator[Finding]:
    ids = [step.id for step in steps]
    for field, name in (("from_step", guard.from_step), ("to_step", guard.to_step)):
        if name is not None and name not in ids:
            yield Finding((*place, field), f"no step {name!r}; there is {', '.join(ids)}")
            return
    first, last = guard.from_step or ids[0], guard.to_step or ids[-1]
    if ids.index(last) < ids.index(first):
        gate = isinstance(steps[ids.index(first)], Safety)
        remedy = f"move the gate {first!r} before what it is for" if gate else "swap the two"
        what = f"{last!r} comes before {first!r}: nothing is watched; {remedy}"
        yield Finding((*place, "to_step"), what)


def left_out(procedure: Procedure) -> Iterator[Finding]:
    """Steps that no pass runs, see `meterlog.procedure.plan`."""
    run = {planned.step.id for planned in plan_of(procedure)}
    for place, step in steps_of(procedure):
        if step.id in run:
            continue
        if isinstance(step, SetSource):
            yield warning(place, "no step uses this source before the next one; remove it, or move it")
        else:
            yield warning(place, "no pass runs this step: no step that it serves comes after it; move it")
