"""The way through a session's plan: the step at hand, what it has come to, and which one comes next."""

from collections.abc import Sequence

from meterlog.accuracy import Verdict
from meterlog.procedure.attempt import Attempt
from meterlog.procedure.events import Ending, Outcome, SettledValue, StepEnded
from meterlog.procedure.guards import GuardWatch
from meterlog.procedure.judged import Judged
from meterlog.procedure.known import Known
from meterlog.procedure.ledger import Ledger
from meterlog.procedure.patterns import Capture, Progress
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.plan import PlannedStep
from meterlog.procedure.standing import Standing, Standings
from meterlog.procedure.states import SIGNAL_OF_MOTION, Signal


class Passage:
    """`place` is that of the step at hand, `attempt` the one at it; `over`: the last step has ended."""

    def __init__(
        self, plan: tuple[PlannedStep, ...], known: Known, ledger: Ledger, guards: GuardWatch
    ) -> None:
        self.plan = plan
        self.place = 0
        self.over = self._guided_by_the_rule = False
        self.standings = Standings(plan)
        self._known = known
        self._ledger = ledger
        self._guards = guards
        self._judged = Judged()
        self.attempt = self._attempt_at(0)

    @property
    def planned(self) -> PlannedStep:
        return self.plan[self.place]

    @property
    def standing(self) -> Standing:
        return self.standings[self.place]

    @property
    def redo_place(self) -> int:
        """The step at hand; while nothing has been captured in it, the one before: that is what is meant."""
        return self.place if self.standing.captured else self.standings.before(self.place)

    def start(self, at_ns: int, *, guided_by_the_rule: bool) -> None:
        """guided_by_the_rule: the hand is led to where a value passes, not to the limits."""
        self._guided_by_the_rule = guided_by_the_rule
        self._begin(0, at_ns)

    def replan(self, plan: tuple[PlannedStep, ...], at_ns: int) -> None:
        """The same steps with other lags. The one at hand begins anew where its meter averages for another
        time: what its pattern holds was made for the time before."""
        self.plan = plan
        if self.planned.step != self.attempt.step:
            self.attempt = self._attempt_at(at_ns)

    def take(self, progress: Progress, at_ns: int) -> list[Outcome]:
        """What the step at hand has come to; it may be over with that, and the next one begun."""
        outcomes: list[Outcome] = [self._kept(capture, at_ns) for capture in progress.captures]
        verdict = self._judged.verdict(progress.verdict)
        if progress.motion is not None:
            self.standing.signal(SIGNAL_OF_MOTION[progress.motion])
        if progress.finished:
            outcomes.append(self._ended(at_ns, Signal.FINISH, verdict, progress.reason))
            self.advance(at_ns)
        return outcomes

    def leave(self, at_ns: int, reason: str) -> StepEnded:
        """The step at hand is not gone on with: it has no value, but a failure that it has seen stays one."""
        self._known.forget(self.place)
        return self._ended(at_ns, Signal.SKIP, self.attempt.verdict_so_far, reason)

    def redo(self, place: int, at_ns: int) -> None:
        """IllegalAction as `Standings.leave_for_redo`."""
        self._forget(self.standings.leave_for_redo(place, self.place))
        self._begin(place, at_ns)

    def advance(self, at_ns: int) -> None:
        """To the first step that was left, else to the next."""
        following = self.standings.after(self.place)
        if following < len(self.plan):
            self._begin(following, at_ns)
        else:
            self.over = True

    def start_evidence_anew(self, at_ns: int, *, away: bool = False) -> None:
        """What this attempt has taken stays, but will be taken again: nobody saw what was done meanwhile."""
        self.attempt.anew(at_ns, away=away)
        self._forget((self.place,))
        self.standing.take_again()

    def _begin(self, place: int, at_ns: int) -> None:
        self.place = place
        self._guards.begin(self.planned)
        self.attempt = self._attempt_at(at_ns)
        self.standing.begin(at_ns)
        self._judged = Judged()

    def _attempt_at(self, at_ns: int) -> Attempt:
        ruling = self._ledger.ruling(self.planned) if self._guided_by_the_rule else Ruling()
        return Attempt(self.planned, self._known, at_ns, self._guards.watching(self.planned), ruling)

    def _forget(self, places: Sequence[int] | frozenset[int]) -> None:
        for place in places:
            self._known.forget(place)

    def _kept(self, capture: Capture, at_ns: int) -> SettledValue:
        self.standing.captured = True
        value = self._ledger.settle(capture, self.planned, self.standing.attempt, at_ns)
        self._known.keep(value)
        self._judged.keep(capture.verdict, value)
        return value

    def _ended(self, at_ns: int, signal: Signal, verdict: Verdict, reason: str) -> StepEnded:
        planned, standing = self.planned, self.standing
        standing.signal(signal)
        standing.verdict = verdict
        return StepEnded(
            place=self.place,
            step=planned.step.id,
            pass_=planned.pass_,
            attempt=standing.attempt,
            ending=Ending.SKIPPED if signal is Signal.SKIP else Ending.DONE,
            verdict=verdict,
            began_ns=standing.began_ns,
            at_ns=at_ns,
            reason=reason,
        )
