"""What the session has measured so far, for steps that rest on earlier ones."""

from collections.abc import Iterable
from typing import Any

from meterlog.procedure.events import Pass, Role, SettledValue
from meterlog.procedure.model import Alternate, Step
from meterlog.procedure.model.base import Source
from meterlog.procedure.plan import PlannedStep
from meterlog.quantity import Offset, base_scale


class Known:
    """The settled values that count, by the step that took them."""

    def __init__(self, plan: Iterable[PlannedStep]) -> None:
        self._planned = {(planned.step.id, planned.pass_) for planned in plan}
        self._taken: list[SettledValue] = []

    def keep(self, value: SettledValue) -> None:
        """A value that another replaces is forgotten."""
        self._taken = [one for one in self._taken if one.number != value.replaces]
        self._taken.append(value)

    def forget(self, place: int) -> None:
        """What was taken at this place of the plan: it is done anew, or left out."""
        self._taken = [one for one in self._taken if one.place != place]

    def value_of(
        self, step: str, pass_: Pass, condition: str = "", role: Role | None = None
    ) -> SettledValue | None:
        """The last value of a step in this pass; of a step that this pass does not run, in any earlier one.

        None if it has none: what was measured before a hand turned something is no value of after it.
        """
        found = [one for one in self._taken if (one.step, one.condition) == (step, condition)]
        if (step, pass_) in self._planned:
            found = [one for one in found if one.pass_ is pass_]
        return next((one for one in reversed(found) if role in (None, one.role)), None)

    def value_at(self, source: Source, pass_: Pass) -> SettledValue | None:
        return self.value_of(source.step, pass_, source.condition, source.role)


def missing(step: Step, pass_: Pass, known: Known) -> tuple[str, ...]:
    """Ids of the steps that `step` rests on and that have no value, or none to count decibels from."""
    lacking = [source.step for source in step.sources if known.value_at(source, pass_) is None]
    lacking += [name for name in _counted_from(step) if _is_nothing(known.value_of(name, pass_))]
    return tuple(dict.fromkeys(lacking))


def _counted_from(step: Step) -> list[str]:
    """Steps about which a target lies in dB."""
    parts: list[Any] = [*step.condition] if isinstance(step, Alternate) else [step]
    return [p.reference for p in parts if isinstance(getattr(p, "target", None), Offset) and p.reference]


def _is_nothing(value: SettledValue | None) -> bool:
    return value is not None and value.value == 0.0


def resolved(step: Step, pass_: Pass, known: Known) -> Step:
    """The step with levels in the place of offsets. All it needs must be known."""
    if isinstance(step, Alternate):
        conditions = [_with_level(part, pass_, known) for part in step.condition]
        return step.model_copy(update={"condition": conditions})
    found: Step = _with_level(step, pass_, known)
    return found


def _with_level(part: Any, pass_: Pass, known: Known) -> Any:
    """A step or condition; those without a target as they are."""
    target, reference = getattr(part, "target", None), getattr(part, "reference", None)
    if not isinstance(target, Offset) or reference is None:
        return part
    value = known.value_of(reference, pass_)
    assert value is not None, "asked only when nothing is missing"
    return part.model_copy(update={"target": target.about(value.value, base_scale(value.unit))})
