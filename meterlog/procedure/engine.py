"""The session engine: events in, outcomes out. Pure: time comes with the events; no port, file or thread.

`Engine.apply` is the only way in. Live, after a crash and in replay the same events give the same
outcomes to the last bit; a refused action raises `IllegalAction` and changes nothing, so it need not be kept.
"""

from collections.abc import Mapping

from meterlog.accuracy import Conditions, InUse, Surroundings, Verdict, parse_surroundings
from meterlog.accuracy.appraisal import Appraisal
from meterlog.procedure.attempt import Attempt
from meterlog.procedure.correcting import Correcting
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import (
    GUIDED_BY_THE_RULE,
    Acted,
    ActionKind,
    Ending,
    Event,
    Measured,
    Outcome,
    SessionEnded,
    SettledValue,
    StepEnded,
    Ticked,
)
from meterlog.procedure.guards import GuardWatch
from meterlog.procedure.judged import Judged
from meterlog.procedure.known import Known
from meterlog.procedure.lags import Lags, with_lags
from meterlog.procedure.ledger import Ledger
from meterlog.procedure.model import Procedure
from meterlog.procedure.patterns import Capture, Progress
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.plan import PlannedStep, plan_of
from meterlog.procedure.showing import alarming, view_of
from meterlog.procedure.standing import Standing, Standings
from meterlog.procedure.states import SIGNAL_OF_MOTION, Command, Signal, next_session_state
from meterlog.procedure.view import Guide, SessionState, View
from meterlog.reading import Reading


class Engine:
    """One session of one procedure.

    `meters` and `conditions`, by the names of their channels, say how sure their values are; `lags`, how long
    the meters average.
    """

    def __init__(
        self,
        procedure: Procedure,
        meters: Mapping[str, InUse] | None = None,
        conditions: Mapping[str, Conditions] | None = None,
        lags: Lags | None = None,
    ) -> None:
        self.procedure = procedure
        self._lags = lags or {}
        self.plan: tuple[PlannedStep, ...] = plan_of(with_lags(procedure, self._lags))
        self.state = SessionState.RUNNING
        self.place = 0
        self.surroundings = Surroundings()
        self._standings = Standings(self.plan)
        self._known = Known(self.plan)
        self._guards = GuardWatch(procedure)
        self._started = self._guided_by_the_rule = False
        self._appraisal = Appraisal(meters, conditions)
        self._correcting = Correcting(procedure, meters)
        self._ledger = Ledger(procedure, self._appraisal, self._known, self._correcting)
        self._attempt = self._attempt_at(0, 0)
        self._judged = Judged()
        self._closed_with: Verdict | None = None

    def use(
        self, meters: Mapping[str, InUse], conditions: Mapping[str, Conditions], lags: Lags | None = None
    ) -> None:
        """From the next event on these meters. `lags` count from the next OTHER_BENCH, which says that the
        session goes on at another bench; records from before there was one keep those of their beginning."""
        self._appraisal.use(meters, conditions)
        self._lags = lags or {}
        self._correcting.use(meters)

    # -- events ---------------------------------------------------------------------------------

    def apply(self, event: Event) -> list[Outcome]:
        """Take one event. IllegalAction: an action that this moment does not allow; nothing has changed."""
        match event:
            case Measured():
                return self._measured(event)
            case Ticked(at_ns):
                return self._step_progress(self._attempt.ticked(at_ns), at_ns) if self._live else []
            case Acted():
                return self._acted(event)

    @property
    def _live(self) -> bool:
        return self._started and self.state is SessionState.RUNNING and not self._guards.tripped

    def _measured(self, event: Measured) -> list[Outcome]:
        level = self.corrected(event.reading)
        event = event if level is event.reading else Measured(event.at_ns, level)
        if tripped := self._guarded(event):
            return tripped
        return self._step_progress(self._attempt.measured(event), event.at_ns) if self._live else []

    def corrected(self, reading: Reading) -> Reading:
        """With the level that counts now; as shown until the setup is confirmed that says its frequency."""
        part = self._attempt.part(reading.channel)
        if part is None or self.state is SessionState.ENDED:
            return reading
        return self._correcting.corrected(reading, self.plan[self.place].step.id, part)

    def _guarded(self, event: Measured) -> list[Outcome]:
        """Guards watch every reading, whatever the step waits for. A trip ends the evidence of the step."""
        if not self._started or self.state is SessionState.ENDED:
            return []
        tripped: list[Outcome] = [*self._guards.see(event, self.plan[self.place])]
        if tripped:
            self._start_evidence_anew(event.at_ns)
            self._standing.signal(Signal.WAIT)
        return tripped

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
            ActionKind.SURROUNDINGS: self._surrounded,
            ActionKind.PAUSE: self._pause,
            ActionKind.RESUME: self._resume,
            ActionKind.SET_ASIDE: self._set_aside,
            ActionKind.INTERRUPTED: self._interrupted,
            ActionKind.OTHER_BENCH: self._other_bench,
            ActionKind.OTHER_METER: self._other_meter,
            ActionKind.REDO_ROW: self._inside,
            ActionKind.SKIP_ROW: self._inside,
            ActionKind.SOURCE_ASKED: self._inside,
            ActionKind.SOURCE_SET: self._inside,
            ActionKind.SOURCE_FAILED: self._inside,
            ActionKind.ENTER: self._enter,
            ActionKind.BREAK_OFF: self._break_off,
            ActionKind.INOPERABLE: self._break_off,
        }[event.kind](event)

    def _start(self, event: Acted) -> list[Outcome]:
        self._started = True
        self._guided_by_the_rule = event.text == GUIDED_BY_THE_RULE
        self._begin(0, event.at_ns)
        return []

    def _surrounded(self, event: Acted) -> list[Outcome]:
        """It is so from now on; what was taken before was taken at what was told before."""
        try:
            told = parse_surroundings(event.text)
        except ValueError as error:
            raise IllegalAction(str(error)) from error
        self.surroundings = self.surroundings.then(told)
        self._appraisal.at(self.surroundings.temperature_c)
        return []

    def _go_on(self, event: Acted) -> list[Outcome]:
        if self.state is SessionState.PAUSED:
            return self._resume(event)
        if self._guards.tripped:
            self._guards.acknowledge()
            self._start_evidence_anew(event.at_ns)
            return []
        progress = self._attempt.go_on(event.at_ns)
        self._standing.began_ns = self._attempt.began_ns
        return self._step_progress(progress, event.at_ns)

    def _enter(self, event: Acted) -> list[Outcome]:
        if not self._live:
            raise IllegalAction("nothing can be typed in now; press first, as the page says")
        return self._step_progress(self._attempt.entered(event.at_ns, event.text), event.at_ns)

    def _inside(self, event: Acted) -> list[Outcome]:
        """What the step at hand alone has to do with: its rows, and the source it asks for."""
        if not self._live:
            raise IllegalAction("not now; press first, as the page says")
        return self._step_progress(self._attempt.inside(event), event.at_ns)

    def _redo(self, event: Acted) -> list[Outcome]:
        place = self.redo_place if event.place is None else event.place
        for stale in self._standings.leave_for_redo(place, self.place):
            self._known.forget(stale)
        self._begin(place, event.at_ns)
        return []

    @property
    def redo_place(self) -> int:
        """The step at hand; while nothing has been captured in it, the one before: that is what is meant."""
        return self.place if self._standing.captured else self._standings.before(self.place)

    def _skip(self, event: Acted) -> list[Outcome]:
        reason = _reason(event, "say why the step is skipped")
        if self.place == len(self.plan) - 1:
            raise IllegalAction("the last step closes the session: press to go on")
        return [self._left(event.at_ns, reason), *self._advance(event.at_ns)]

    def _left(self, at_ns: int, reason: str) -> StepEnded:
        """The step at hand is not gone on with: it has no value, but a failure that it has seen stays one."""
        self._known.forget(self.place)
        return self._ended(at_ns, Signal.SKIP, self._attempt.verdict_so_far, reason)

    def _break_off(self, event: Acted) -> list[Outcome]:
        """Ends the session here. An inoperable unit fails; any other is not judged, unless it has failed."""
        reason = _reason(event, "say why the session ends here")
        ended = self._left(event.at_ns, reason)
        failed = event.kind is ActionKind.INOPERABLE or self._standings.failed_so_far()
        failed = failed or ended.verdict.is_failure
        return [ended, self._closed(event.at_ns, Verdict.FAIL if failed else Verdict.NOT_JUDGED)]

    def _pause(self, _event: Acted) -> list[Outcome]:
        self.state = next_session_state(self.state, Command.PAUSE)
        return []

    def _resume(self, event: Acted) -> list[Outcome]:
        self.state = next_session_state(self.state, Command.RESUME)
        self._start_evidence_anew(event.at_ns)
        return []

    def _set_aside(self, event: Acted) -> list[Outcome]:
        """To be gone on with another day; others may be run meanwhile."""
        return self._pause(event) if self.state is SessionState.RUNNING else []

    def _interrupted(self, event: Acted) -> list[Outcome]:
        """The daemon was away."""
        self._start_evidence_anew(event.at_ns, away=True)
        self._standing.signal(Signal.WAIT)
        return []

    def _other_bench(self, event: Acted) -> list[Outcome]:
        """The daemon was away, and other meters stand on the bench. The step at hand begins anew where its
        meter averages for another time: what its pattern holds was made for the time before."""
        self.plan = plan_of(with_lags(self.procedure, self._lags))
        if self.plan[self.place].step != self._attempt.step:
            self._attempt = self._attempt_at(self.place, event.at_ns)
        return self._interrupted(event)

    def _other_meter(self, event: Acted) -> list[Outcome]:
        """Its error of gain is another one; what was seen of the level before was seen by the other."""
        self._appraisal.forget_gains()
        self._start_evidence_anew(event.at_ns)
        return []

    def _start_evidence_anew(self, at_ns: int, *, away: bool = False) -> None:
        """What this attempt has taken stays, but will be taken again: nobody saw what was done meanwhile."""
        self._attempt.anew(at_ns, away=away)
        self._known.forget(self.place)
        self._standing.take_again()

    # -- the step at hand -----------------------------------------------------------------------

    @property
    def _standing(self) -> Standing:
        return self._standings[self.place]

    def _begin(self, place: int, at_ns: int) -> None:
        self.place = place
        self._guards.begin(self.plan[place])
        self._attempt = self._attempt_at(place, at_ns)
        self._standing.begin(at_ns)
        self._judged = Judged()

    def _attempt_at(self, place: int, at_ns: int) -> Attempt:
        planned = self.plan[place]
        ruling = self._ledger.ruling(planned) if self._guided_by_the_rule else Ruling()
        return Attempt(planned, self._known, at_ns, self._guards.watching(planned), ruling)

    def _step_progress(self, progress: Progress, at_ns: int) -> list[Outcome]:
        outcomes: list[Outcome] = [self._kept(capture, at_ns) for capture in progress.captures]
        verdict = self._judged.verdict(progress.verdict)
        if progress.motion is not None:
            self._standing.signal(SIGNAL_OF_MOTION[progress.motion])
        if progress.finished:
            outcomes.append(self._ended(at_ns, Signal.FINISH, verdict, progress.reason))
            outcomes += self._advance(at_ns)
        return outcomes

    def _kept(self, capture: Capture, at_ns: int) -> SettledValue:
        self._standing.captured = True
        value = self._ledger.settle(capture, self.plan[self.place], self._standing.attempt, at_ns)
        self._known.keep(value)
        self._judged.keep(capture.verdict, value)
        return value

    def _ended(self, at_ns: int, signal: Signal, verdict: Verdict, reason: str) -> StepEnded:
        planned, standing = self.plan[self.place], self._standing
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

    def _advance(self, at_ns: int) -> list[Outcome]:
        following = self._standings.after(self.place)
        if following < len(self.plan):
            self._begin(following, at_ns)
            return []
        return [self._closed(at_ns, self.verdict())]

    def _closed(self, at_ns: int, verdict: Verdict) -> SessionEnded:
        self.state = next_session_state(self.state, Command.CLOSE)
        self._closed_with = verdict
        return SessionEnded(verdict=verdict, at_ns=at_ns)

    # -- what it comes to -----------------------------------------------------------------------

    def verdict(self) -> Verdict:
        """Of the unit: what the session ended with, or as far as it has come."""
        return self._closed_with or self._standings.verdict()

    def view(self) -> View:
        """What to see and hear now."""
        if self.state is SessionState.ENDED:
            return view_of(self, self._standings, Guide(do_now="The session is closed."), None, ())
        watching = tuple(guard.words for guard in self._guards.watching(self.plan[self.place]))
        return view_of(self, self._standings, self._guide(), self._guards.alarm, watching)

    def _guide(self) -> Guide:
        if alarm := self._guards.alarm:
            return alarming(alarm)
        if self.state is SessionState.PAUSED:
            return Guide(do_now="Paused. Press to go on.", awaiting_go_on=True)
        return self._attempt.guide()


def _reason(event: Acted, ask: str) -> str:
    if not event.text.strip():
        raise IllegalAction(ask)
    return event.text.strip()
