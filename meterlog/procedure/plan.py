"""The plan: which step is run in which pass, in order.

    lead-in      prepare and warm-up steps before the first step that reads the unit, once
    as found     every step that can be seen without touching a trimmer, before any is touched
    adjust       every step but those that only look
    as left      as the as-found pass, after the last trimmer

A step says itself in which passes it belongs (`StepBase.passes`). A source is set and a preparation made
anew in every pass that has a step after it: neither is a trimmer of the unit. Where nothing is turned there
is one pass, as found. A last entry closes the session.
"""

from dataclasses import dataclass
from itertools import takewhile

from meterlog.procedure.events import Pass
from meterlog.procedure.model import Prepare, Procedure, SetSource, Step, WarmUp

CLOSE = Prepare(
    id="close",
    title="Close the session",
    pattern="prepare",
    setup="All steps are done. Repeat what you want to, or close the session.",
)


@dataclass(frozen=True, slots=True)
class PlannedStep:
    place: int
    step: Step
    pass_: Pass


def plan_of(procedure: Procedure) -> tuple[PlannedStep, ...]:
    """Every step in every pass it belongs to, numbered from 0."""
    steps = procedure.steps
    lead = list(takewhile(lambda step: isinstance(step, Prepare | WarmUp), steps))
    rest = steps[len(lead) :]
    rows = [(step, Pass.ADJUST) for step in lead]
    if any(step.turns for step in rest):
        rows += [(step, pass_) for pass_ in Pass for step in _serving(rest, pass_)]
    else:
        rows += [(step, Pass.AS_FOUND) for step in rest]
    rows.append((CLOSE, Pass.AS_LEFT))
    return tuple(PlannedStep(place, step, pass_) for place, (step, pass_) in enumerate(rows))


def _serving(steps: list[Step], pass_: Pass) -> list[Step]:
    """The steps of a pass, without preparations and sources that then serve no step.

    A preparation serves everything after it, a source what comes before the next source.
    """
    kept: list[Step] = []
    served: Step | None = None
    for step in reversed([step for step in steps if pass_ in step.passes]):
        if isinstance(step, Prepare):
            idle = not kept
        else:
            idle = isinstance(step, SetSource) and (served is None or isinstance(served, SetSource))
            served = served if idle else step
        if not idle:
            kept.append(step)
    return kept[::-1]
