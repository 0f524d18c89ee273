"""Where each planned step stands, and what all of them together say of the unit."""

from collections.abc import Sequence

from meterlog.accuracy import Verdict
from meterlog.procedure.events import Pass
from meterlog.procedure.plan import PlannedStep
from meterlog.procedure.states import Signal, next_step_state
from meterlog.procedure.view import StepState


class Standing:
    """One planned step: state by the table, verdict, attempt and whether that has taken a value."""

    def __init__(self) -> None:
        self.state = StepState.WAITING
        self.verdict = Verdict.NOT_JUDGED
        self.attempt = 1
        self.began_ns = 0
        self.captured = False

    def signal(self, signal: Signal) -> None:
        self.state = next_step_state(self.state, signal)

    def begin(self, at_ns: int) -> None:
        """Evidence starts now. Values taken in an attempt that was left half-way will be replaced."""
        self.take_again()
        self.signal(Signal.REDO)
        self.began_ns = at_ns

    def take_again(self) -> None:
        """A new attempt if this one has taken something, so that the later values replace the earlier."""
        if self.captured:
            self.attempt += 1
            self.captured = False

    def redo(self) -> None:
        """What this step came to no longer counts."""
        self.attempt += 1
        self.captured = False
        self.verdict = Verdict.NOT_JUDGED


def failed_so_far(plan: Sequence[PlannedStep], standings: Sequence[Standing]) -> bool:
    """Whether a step stands as failed where the session ends early: what was not reached says nothing."""
    ended = [planned for planned in plan if standings[planned.place].state is StepState.DONE]
    return verdict_of(ended, standings) is Verdict.FAIL


def verdict_of(plan: Sequence[PlannedStep], standings: Sequence[Standing]) -> Verdict:
    """Of the unit as left: any failure fails it, a step left out leaves it not judged.

    The last pass in which a step was run counts; as-found results count only where nothing was adjusted.
    """
    adjusted = any(planned.pass_ is Pass.ADJUST and planned.step.turns for planned in plan)
    counting = [planned for planned in plan if planned.pass_ is not Pass.AS_FOUND or not adjusted]
    last = {planned.step.id: standings[planned.place] for planned in counting}.values()
    if any(standing.verdict is Verdict.FAIL for standing in last):
        return Verdict.FAIL
    left_out = any(standing.state is StepState.SKIPPED for standing in last)
    passed = any(standing.verdict is Verdict.PASS for standing in last)
    return Verdict.PASS if passed and not left_out else Verdict.NOT_JUDGED
