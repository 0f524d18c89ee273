"""The plan: which step is run in which pass, in order.

    lead-in      prepare and warm-up steps before the first step that reads the unit, once
    as found     every step that can be seen without touching a trimmer, before any is touched
    adjust       every step but the pure measurements
    as left      as the as-found pass, after the last trimmer

A source is set and a preparation made anew in every pass that has a step after it: neither is a
trimmer of the unit. An extremum and a back-off are
looked at as found (their level is recorded, not judged: without turning the trimmer nobody knows where
the extremum lies) and not looked at again as left: their own last settled value is the as-left value,
since other steps may have moved the level meanwhile. A last entry closes the session.
"""

from dataclasses import dataclass
from itertools import takewhile

from meterlog.procedure.events import Pass
from meterlog.procedure.model import Prepare, Procedure, Step

LEAD_IN = frozenset({"prepare", "warm-up"})
ADJUSTING = frozenset({"adjust", "extremum", "back-off", "threshold", "alternate"})
AS_FOUND = frozenset(
    {"prepare", "set-source", "measure", "adjust", "extremum", "back-off", "threshold", "alternate"}
)
AS_LEFT = AS_FOUND - {"extremum", "back-off"}

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
    lead = list(takewhile(lambda step: step.pattern in LEAD_IN, steps))
    rest = steps[len(lead) :]
    rows = [(step, Pass.ADJUST) for step in lead]
    if any(step.pattern in ADJUSTING for step in rest):
        rows += _needed(rest, AS_FOUND, Pass.AS_FOUND)
        rows += [(step, Pass.ADJUST) for step in _serving(rest, {"measure"})]
        rows += _needed(rest, AS_LEFT, Pass.AS_LEFT)
    else:
        rows += [(step, Pass.AS_FOUND) for step in rest]
    rows.append((CLOSE, Pass.AS_LEFT))
    return tuple(PlannedStep(place, step, pass_) for place, (step, pass_) in enumerate(rows))


def _needed(steps: list[Step], patterns: frozenset[str], pass_: Pass) -> list[tuple[Step, Pass]]:
    others = {str(step.pattern) for step in steps} - patterns
    return [(step, pass_) for step in _serving(steps, others)]


def _serving(steps: list[Step], left_out: set[str]) -> list[Step]:
    """The steps without those of the patterns `left_out`, and without conditions that then serve no step.

    A preparation serves everything after it, a source what comes before the next source.
    """
    kept: list[Step] = []
    served = ""
    for step in reversed([step for step in steps if step.pattern not in left_out]):
        if step.pattern == "prepare":
            idle = not kept
        else:
            idle = step.pattern == "set-source" and served in ("", "set-source")
            served = served if idle else step.pattern
        if not idle:
            kept.append(step)
    return kept[::-1]
