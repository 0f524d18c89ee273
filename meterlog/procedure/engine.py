"""The session engine: events in, outcomes out. Pure: time comes with the events; no port, file or thread.

`Engine.apply` is the only way in. Live, after a crash and in replay the same events give the same
outcomes to the last bit; a refused action raises `IllegalAction` and changes nothing, so it need not be kept.
"""

from meterlog.accuracy import Verdict
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import (
    Acted,
    ActionKind,
    Ending,
    Event,
    Measured,
    Outcome,
    Pass,
    SessionEnded,
    SettledValue,
    StepEnded,
    Ticked,
)
from meterlog.procedure.ledger import NS, Ledger
from meterlog.procedure.model import Procedure, Step
from meterlog.procedure.patterns import Capture, Pattern, Progress, pattern_for
from meterlog.procedure.plan import PlannedStep, plan_of
from meterlog.procedure.standing import Standing, verdict_of
from meterlog.procedure.states import (
    SIGNAL_OF_MOTION,
    Command,
    Signal,
    next_session_state,
)
from meterlog.procedure.view import Cue, Guide, PlannedStepView, SessionState, Sound, StepState, View


class Engine:
    """One session of one procedure."""

    def __init__(self, procedure: Procedure) -> None:
        self.procedure = procedure
        self.plan: tuple[PlannedStep, ...] = plan_of(procedure)
        self.state = SessionState.RUNNING
        self.place = 0
        self._standings = [Standing() for _ in self.plan]
        self._started = False
        self._pattern: Pattern = self._fresh()
        self._set_up = False
        self._evidence_ns = 0  # readings dated earlier tell nothing of what is now
        self._unfinished: set[int] = set()  # left for a redo of an earlier step; to come back to
        self._ledger = Ledger(procedure)

    # -- events ---------------------------------------------------------------------------------

    def apply(self, event: Event) -> list[Outcome]:
        """Take one event. IllegalAction: an action that this moment does not allow; nothing has changed."""
        match event:
            case Measured():
                return self._measured(event)
            case Ticked(at_ns):
                return self._step_progress(self._pattern.tick(at_ns * NS), at_ns) if self._live else []
            case Acted():
                return self._acted(event)

    @property
    def _live(self) -> bool:
        return self._started and self._set_up and self.state is SessionState.RUNNING

    def _measured(self, event: Measured) -> list[Outcome]:
        reading = event.reading
        relevant = reading.channel == self._pattern.channel and event.at_ns >= self._evidence_ns
        if not self._live or not relevant:
            return []
        return self._step_progress(self._pattern.reading(event.at_ns * NS, reading), event.at_ns)

    def _acted(self, event: Acted) -> list[Outcome]:
        if event.kind is ActionKind.NOTE:
            return []
        if (event.kind is ActionKind.START) == self._started:
            raise IllegalAction(
                "the session has begun already" if self._started else "the session has not begun"
            )
        if self.state is SessionState.ENDED:
            raise IllegalAction("the session is closed; begin a new one")
        return {
            ActionKind.START: self._start,
            ActionKind.GO_ON: self._go_on,
            ActionKind.REDO: self._redo,
            ActionKind.SKIP: self._skip,
            ActionKind.PAUSE: self._pause,
            ActionKind.RESUME: self._resume,
            ActionKind.INTERRUPTED: self._interrupted,
        }[event.kind](event)

    def _start(self, event: Acted) -> list[Outcome]:
        self._started = True
        self._begin(0, event.at_ns)
        return []

    def _go_on(self, event: Acted) -> list[Outcome]:
        if self.state is SessionState.PAUSED:
            return self._resume(event)
        if not self._set_up:
            return self._confirm_setup(event.at_ns)
        progress = self._pattern.go_on(event.at_ns * NS)
        self._evidence_ns = event.at_ns
        return self._step_progress(progress, event.at_ns)

    def _confirm_setup(self, at_ns: int) -> list[Outcome]:
        self._set_up = True
        self._standing.began_ns = self._evidence_ns = at_ns
        self._pattern.begin(at_ns * NS)
        if self._step.pattern == "prepare":
            return self._step_progress(Progress(finished=True), at_ns)
        return []

    def _redo(self, event: Acted) -> list[Outcome]:
        place = self.redo_place if event.place is None else event.place
        reached = max(self._unfinished | {self.place})
        if not 0 <= place <= reached:
            raise IllegalAction(f"step {place + 1} has not been reached; redo one from 1 to {reached + 1}")
        self._unfinished = (self._unfinished | {self.place}) - {place}
        self._standings[place].redo()
        if self.plan[place].pass_ is Pass.ADJUST:
            self._reopen_as_left()
        self._begin(place, event.at_ns)
        return []

    def _reopen_as_left(self) -> None:
        """A trimmer may be turned again: what was measured as left has to be measured once more."""
        for planned in self.plan:
            standing = self._standings[planned.place]
            if planned.pass_ is Pass.AS_LEFT and standing.state in (StepState.DONE, StepState.SKIPPED):
                standing.redo()
                standing.signal(Signal.REDO)
                self._unfinished.add(planned.place)

    @property
    def redo_place(self) -> int:
        """The step at hand; while nothing has been captured in it, the one before: that is what is meant."""
        return self.place if self._standing.captured or self.place == 0 else self.place - 1

    def _skip(self, event: Acted) -> list[Outcome]:
        if not event.text.strip():
            raise IllegalAction("say why the step is skipped")
        if self.place == len(self.plan) - 1:
            raise IllegalAction("the last step closes the session: press to go on")
        return self._ended(event.at_ns, Signal.SKIP, Verdict.NOT_JUDGED, event.text.strip())

    def _pause(self, _event: Acted) -> list[Outcome]:
        self.state = next_session_state(self.state, Command.PAUSE)
        return []

    def _resume(self, event: Acted) -> list[Outcome]:
        self.state = next_session_state(self.state, Command.RESUME)
        self._start_evidence_anew(event.at_ns)
        return []

    def _interrupted(self, event: Acted) -> list[Outcome]:
        """The daemon was away."""
        self._start_evidence_anew(event.at_ns)
        self._standing.signal(Signal.WAIT)
        return []

    def _start_evidence_anew(self, at_ns: int) -> None:
        """What this attempt has taken stays, but will be taken again: nobody saw what was done meanwhile."""
        self._pattern.restart()
        self._evidence_ns = at_ns
        self._standing.take_again()

    # -- the step at hand -----------------------------------------------------------------------

    @property
    def _standing(self) -> Standing:
        return self._standings[self.place]

    @property
    def _step(self) -> Step:
        return self.plan[self.place].step

    def _fresh(self) -> Pattern:
        planned = self.plan[self.place]
        return pattern_for(planned.step, planned.pass_)

    def _begin(self, place: int, at_ns: int) -> None:
        self.place = place
        self._pattern = self._fresh()
        self._standing.begin(at_ns)
        self._evidence_ns = at_ns
        self._set_up = not self._step.setup
        if self._set_up:
            self._pattern.begin(at_ns * NS)

    def _step_progress(self, progress: Progress, at_ns: int) -> list[Outcome]:
        outcomes: list[Outcome] = [self._kept(capture, at_ns) for capture in progress.captures]
        if progress.motion is not None:
            self._standing.signal(SIGNAL_OF_MOTION[progress.motion])
        if progress.finished:
            outcomes += self._ended(at_ns, Signal.FINISH, progress.verdict, progress.reason)
        return outcomes

    def _kept(self, capture: Capture, at_ns: int) -> SettledValue:
        self._standing.captured = True
        return self._ledger.settle(capture, self.plan[self.place], self._standing.attempt, at_ns)

    def _ended(self, at_ns: int, signal: Signal, verdict: Verdict, reason: str) -> list[Outcome]:
        planned, standing = self.plan[self.place], self._standing
        standing.signal(signal)
        standing.verdict = verdict
        ended = StepEnded(
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
        return [ended, *self._advance(at_ns)]

    def _advance(self, at_ns: int) -> list[Outcome]:
        following = min(self._unfinished, default=self.place + 1)
        self._unfinished.discard(following)
        if following < len(self.plan):
            self._begin(following, at_ns)
            return []
        self.state = next_session_state(self.state, Command.CLOSE)
        return [SessionEnded(verdict=self.verdict(), at_ns=at_ns)]

    # -- what it comes to -----------------------------------------------------------------------

    def verdict(self) -> Verdict:
        """Of the unit, as far as the session has come."""
        return verdict_of(self.plan, self._standings)

    def view(self) -> View:
        """What to see and hear now."""
        planned = self.plan[self.place]
        return View(
            state=self.state,
            place=self.place,
            step=planned.step.id,
            title=planned.step.title,
            pattern=planned.step.pattern,
            pass_=planned.pass_,
            step_state=self._standing.state,
            text=planned.step.text,
            caution=planned.step.caution,
            guide=self._guide(),
            plan=tuple(self._planned_view(planned) for planned in self.plan),
            verdict=self.verdict(),
        )

    def _guide(self) -> Guide:
        if self.state is SessionState.ENDED:
            return Guide(do_now="The session is closed.")
        if self.state is SessionState.PAUSED:
            return Guide(do_now="Paused. Press to go on.", awaiting_go_on=True)
        if not self._set_up:
            return Guide(
                do_now=f"{self._step.setup} Then press.",
                awaiting_go_on=True,
                channel=self._pattern.channel,
                cue=Cue(Sound.PRESS),
            )
        return self._pattern.guide()

    def _planned_view(self, planned: PlannedStep) -> PlannedStepView:
        standing = self._standings[planned.place]
        return PlannedStepView(
            place=planned.place,
            step=planned.step.id,
            title=planned.step.title,
            pattern=planned.step.pattern,
            pass_=planned.pass_,
            state=standing.state,
            verdict=standing.verdict,
            attempt=standing.attempt,
        )
