"""Where each planned step stands, and what all of them together say of the unit."""

from collections.abc import Iterator, Sequence

from meterlog.accuracy import Verdict, worst
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Pass
from meterlog.procedure.plan import PlannedStep, reopened_by
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


class Standings:
    """All planned steps of a session, and those that were left to come back to."""

    def __init__(self, plan: Sequence[PlannedStep]) -> None:
        self._plan = plan
        self._all = [Standing() for _ in plan]
        self._unfinished: set[int] = set()

    def __getitem__(self, place: int) -> Standing:
        return self._all[place]

    def __iter__(self) -> Iterator[Standing]:
        return iter(self._all)

    def leave_for_redo(self, place: int, at: int) -> frozenset[int]:
        """Step `at` is left for a redo of `place`; that and the places that it makes stale.

        IllegalAction: it has not been reached yet, or is what was found before a hand turned something.
        """
        reached = max(self._unfinished | {at})
        if not 0 <= place <= reached:
            raise IllegalAction(f"step {place + 1} has not been reached; redo one from 1 to {reached + 1}")
        if self._plan[place].pass_ is Pass.AS_FOUND and self._turned(reached):
            raise IllegalAction("as found stays as it was found: something may have been turned since")
        self._unfinished = (self._unfinished | {at}) - {place}
        self._all[place].redo()
        stale = reopened_by(self._plan, place)
        for other in stale:
            if self._all[other].state in (StepState.DONE, StepState.SKIPPED):
                self._all[other].redo()
                self._all[other].signal(Signal.REDO)
                self._unfinished.add(other)
        return stale | {place}

    def before(self, place: int) -> int:
        """The step just done, or `place` itself where that one stays as it was found."""
        earlier = max(0, place - 1)
        found = self._plan[earlier].pass_ is Pass.AS_FOUND and self._turned(place)
        return place if found else earlier

    def _turned(self, reached: int) -> bool:
        return any(p.pass_ is Pass.ADJUST and p.step.turns for p in self._plan[: reached + 1])

    def after(self, place: int) -> int:
        """What comes next: the first that was left, else the one behind `place`."""
        following = min(self._unfinished, default=place + 1)
        self._unfinished.discard(following)
        return following

    def verdict(self) -> Verdict:
        """Of the unit, as far as the session has come."""
        return verdict_of(self._plan, self._all)

    def failed_so_far(self) -> bool:
        """Whether a step stands as failed where the session ends early: what was not reached says nothing."""
        last = {p.step.id: self[p.place] for p in self._plan if self[p.place].state is StepState.DONE}
        return any(standing.verdict.is_failure for standing in last.values())


def verdict_of(plan: Sequence[PlannedStep], standings: Sequence[Standing]) -> Verdict:
    """Of the unit as left: any failure fails it, a step left out leaves it not judged.

    The last pass in which a step was run counts; as-found results count only where nothing was adjusted.
    What was skipped loses no failure that came before.
    """
    adjusted = any(planned.pass_ is Pass.ADJUST and planned.step.turns for planned in plan)
    counting = [planned for planned in plan if planned.pass_ is not Pass.AS_FOUND or not adjusted]
    last = {planned.step.id: standings[planned.place] for planned in counting}
    run = {
        p.step.id: standings[p.place] for p in counting if standings[p.place].state is not StepState.SKIPPED
    }
    seen = [standing.verdict for standing in (*run.values(), *last.values())]
    if any(verdict.is_failure for verdict in seen):
        return worst(seen)
    left_out = any(standing.state is StepState.SKIPPED for standing in last.values())
    return Verdict.NOT_JUDGED if left_out else worst([standing.verdict for standing in run.values()])
