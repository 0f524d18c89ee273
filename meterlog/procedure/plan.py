"""The plan: which step is run in which pass, in order.

    lead-in      prepare, warm-up and safety steps before the first step that reads the unit, once
    as found     every step that can be seen without touching a trimmer, before any is touched
    adjust       every step but those that only look
    as left      as the as-found pass, after the last trimmer

A step says itself in which passes it belongs (`StepBase.passes`). A source is set and a preparation made
anew in every pass that has a step after it: neither is a trimmer of the unit. A safety step is confirmed
in every such pass too, one of the lead-in as well. Where nothing is turned there
is one pass, as found. A last entry closes the session.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import takewhile

from meterlog.procedure.events import Pass
from meterlog.procedure.model import (
    PowerDown,
    Prepare,
    Procedure,
    Safety,
    SetSource,
    Sign,
    Stability,
    Step,
    WarmUp,
)

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
    lead = list(takewhile(lambda step: isinstance(step, Prepare | WarmUp | Safety), steps))
    rest = steps[len(lead) :]
    gates = [step for step in lead if isinstance(step, Safety)]
    rows = [(step, Pass.AS_FOUND if step in gates else Pass.ADJUST) for step in lead]
    if any(step.turns for step in rest):
        rows += [(step, Pass.AS_FOUND) for step in _serving(rest, Pass.AS_FOUND)]
        for pass_ in (Pass.ADJUST, Pass.AS_LEFT):
            rows += [(step, pass_) for step in _serving([*gates, *rest], pass_)]
    else:
        rows += [(step, Pass.AS_FOUND) for step in rest]
    rows.append((CLOSE, Pass.AS_LEFT))
    return tuple(PlannedStep(place, step, pass_) for place, (step, pass_) in enumerate(rows))


def reopened_by(plan: Sequence[PlannedStep], place: int) -> frozenset[int]:
    """The other places that a redo of this one makes stale: they have to be done once more.

    A trimmer may be turned again: what was measured as left, and what watched the level stay. What rests on
    the value that is taken anew, and what rests on that. Whoever has signed looks again.
    """
    found = {place}
    while more := {p.place for p in plan if any(_stale(p, plan[other], plan) for other in found)} - found:
        found |= more
    return frozenset(found - {place})


def _stale(planned: PlannedStep, redone: PlannedStep, plan: Sequence[PlannedStep]) -> bool:
    if planned is redone:
        return False
    turned = redone.pass_ is Pass.ADJUST
    in_pass = any(one.step.id == redone.step.id and one.pass_ is planned.pass_ for one in plan)
    rests = redone.step.id in planned.step.needs and (planned.pass_ is redone.pass_ or not in_pass)
    watched = isinstance(planned.step, Stability) and planned.place > redone.place
    return (
        rests
        or isinstance(planned.step, Sign)
        or (turned and planned.pass_ is Pass.AS_LEFT)
        or (turned and watched and planned.pass_ is Pass.ADJUST)
    )


def _serving(steps: list[Step], pass_: Pass) -> list[Step]:
    """The steps of a pass, without preparations, gates and sources that then serve no step.

    A preparation or a gate serves everything after it, a source what comes before the next source or before
    the unit is switched off; none of them a signature.
    """
    in_pass = [step for step in steps if pass_ in step.passes]
    signing = [step for step in in_pass if isinstance(step, Sign)]
    kept: list[Step] = []
    served: Step | None = None
    for step in reversed([step for step in in_pass if not isinstance(step, Sign)]):
        if isinstance(step, Prepare | Safety):
            idle = not kept
        elif isinstance(step, PowerDown):
            idle = False
        else:
            idle = isinstance(step, SetSource) and (served is None or isinstance(served, SetSource))
            served = served if idle else step
        if not idle:
            kept.append(step)
    return kept[::-1] + signing
