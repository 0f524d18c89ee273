"""The session engine: events in, outcomes out. Pure: time comes with the events; no port, file or thread.

`Engine.apply` is the only way in. Live, after a crash and in replay the same events give the same
outcomes to the last bit; a refused action raises `IllegalAction` and changes nothing, so it need not be kept.
"""

from collections.abc import Mapping

from meterlog.accuracy import Conditions, Environment, InUse, Verdict, parse_environment
from meterlog.accuracy.appraisal import Appraisal
from meterlog.procedure.correcting import Correcting
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import (
    GUIDED_BY_THE_RULE,
    Acted,
    ActionKind,
    Event,
    Measured,
    Outcome,
    SessionEnded,
    Ticked,
)
from meterlog.procedure.guards import GuardWatch
from meterlog.procedure.known import Known
from meterlog.procedure.lags import Lags, with_lags
from meterlog.procedure.ledger import Ledger
from meterlog.procedure.model import Procedure
from meterlog.procedure.passage import Passage
from meterlog.procedure.patterns import Progress
from meterlog.procedure.plan import PlannedStep, plan_of
from meterlog.procedure.showing import alarming, view_of
from meterlog.procedure.states import Command, Signal, next_session_state
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
        self.state = SessionState.RUNNING
        self.environment = Environment()
        self._lags = lags or {}
        self._started = False
        self._closed_with: Verdict | None = None
        self._appraisal = Appraisal(meters, conditions)
        self._correcting = Correcting(procedure, meters)
        self._guards = GuardWatch(procedure)
        plan = self._planned()
        known = Known(plan)
        ledger = Ledger(procedure, self._appraisal, known, self._correcting)
        self._passage = Passage(plan, known, ledger, self._guards)

    @property
    def plan(self) -> tuple[PlannedStep, ...]:
        return self._passage.plan

    @property
    def place(self) -> int:
        """Of the step at hand in the plan."""
        return self._passage.place

    @property
    def redo_place(self) -> int:
        """Of the step that a redo means which names none."""
        return self._passage.redo_place

    def use(
        self, meters: Mapping[str, InUse], conditions: Mapping[str, Conditions], lags: Lags | None = None
    ) -> None:
        """From the next event on these meters. `lags` count from the next OTHER_BENCH, which says that the
        session goes on at another bench; records from before there was one keep those of their beginning."""
        self._appraisal.use(meters, conditions)
        self._lags = lags or {}
        self._correcting.use(meters)

    def _planned(self) -> tuple[PlannedStep, ...]:
        return plan_of(with_lags(self.procedure, self._lags))

    # -- events ---------------------------------------------------------------------------------

    def apply(self, event: Event) -> list[Outcome]:
        """Take one event. IllegalAction: an action that this moment does not allow; nothing has changed."""
        match event:
            case Measured():
                return self._measured(event)
            case Ticked(at_ns):
                return self._came(self._passage.attempt.ticked(at_ns), at_ns) if self._live else []
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
        return self._came(self._passage.attempt.measured(event), event.at_ns) if self._live else []

    def corrected(self, reading: Reading) -> Reading:
        """With the level that counts now; as shown until the setup is confirmed that says its frequency."""
        part = self._passage.attempt.part(reading.channel)
        if part is None or self.state is SessionState.ENDED:
            return reading
        return self._correcting.corrected(reading, self._passage.planned.step.id, part)

    def _guarded(self, event: Measured) -> list[Outcome]:
        """Guards watch every reading, whatever the step waits for. A trip ends the evidence of the step."""
        if not self._started or self.state is SessionState.ENDED:
            return []
        tripped: list[Outcome] = [*self._guards.see(event, self._passage.planned)]
        if tripped:
            self._passage.start_evidence_anew(event.at_ns)
            self._passage.standing.signal(Signal.WAIT)
        return tripped

    def _came(self, progress: Progress, at_ns: int) -> list[Outcome]:
        """The step at hand got on."""
        outcomes = self._passage.take(progress, at_ns)
        return [*outcomes, self._closed(at_ns, self.verdict())] if self._passage.over else outcomes

    # -- actions --------------------------------------------------------------------------------

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
            ActionKind.ENVIRONMENT: self._environment_told,
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
        self._passage.start(event.at_ns, guided_by_the_rule=event.text == GUIDED_BY_THE_RULE)
        return []

    def _go_on(self, event: Acted) -> list[Outcome]:
        if self.state is SessionState.PAUSED:
            return self._resume(event)
        if self._guards.tripped:
            self._guards.acknowledge()
            self._passage.start_evidence_anew(event.at_ns)
            return []
        attempt = self._passage.attempt
        progress = attempt.go_on(event.at_ns)
        self._passage.standing.began_ns = attempt.began_ns
        return self._came(progress, event.at_ns)

    def _enter(self, event: Acted) -> list[Outcome]:
        if not self._live:
            raise IllegalAction("nothing can be typed in now; press first, as the page says")
        return self._came(self._passage.attempt.entered(event.at_ns, event.text), event.at_ns)

    def _inside(self, event: Acted) -> list[Outcome]:
        """What the step at hand alone has to do with: its rows, and the source it asks for."""
        if not self._live:
            raise IllegalAction("not now; press first, as the page says")
        return self._came(self._passage.attempt.inside(event), event.at_ns)

    def _redo(self, event: Acted) -> list[Outcome]:
        self._passage.redo(self.redo_place if event.place is None else event.place, event.at_ns)
        return []

    def _skip(self, event: Acted) -> list[Outcome]:
        reason = _reason(event, "say why the step is skipped")
        if self.place == len(self.plan) - 1:
            raise IllegalAction("the last step closes the session: press to go on")
        left = self._passage.leave(event.at_ns, reason)
        self._passage.advance(event.at_ns)
        return [left]

    def _break_off(self, event: Acted) -> list[Outcome]:
        """Ends the session here. An inoperable unit fails; any other is not judged, unless it has failed."""
        reason = _reason(event, "say why the session ends here")
        left = self._passage.leave(event.at_ns, reason)
        failed = event.kind is ActionKind.INOPERABLE or self._passage.standings.failed_so_far()
        failed = failed or left.verdict.is_failure
        return [left, self._closed(event.at_ns, Verdict.FAIL if failed else Verdict.NOT_JUDGED)]

    def _environment_told(self, event: Acted) -> list[Outcome]:
        """It is so from now on; what was taken before was taken at what was told before."""
        try:
            told = parse_environment(event.text)
        except ValueError as error:
            raise IllegalAction(str(error)) from error
        self.environment = self.environment.then(told)
        self._appraisal.at(self.environment.temperature_c)
        return []

    def _pause(self, _event: Acted) -> list[Outcome]:
        self.state = next_session_state(self.state, Command.PAUSE)
        return []

    def _resume(self, event: Acted) -> list[Outcome]:
        self.state = next_session_state(self.state, Command.RESUME)
        self._passage.start_evidence_anew(event.at_ns)
        return []

    def _set_aside(self, event: Acted) -> list[Outcome]:
        """To be gone on with another day; others may be run meanwhile."""
        return self._pause(event) if self.state is SessionState.RUNNING else []

    def _interrupted(self, event: Acted) -> list[Outcome]:
        """The daemon was away."""
        self._passage.start_evidence_anew(event.at_ns, away=True)
        self._passage.standing.signal(Signal.WAIT)
        return []

    def _other_bench(self, event: Acted) -> list[Outcome]:
        """The daemon was away, and other meters stand on the bench."""
        self._passage.replan(self._planned(), event.at_ns)
        return self._interrupted(event)

    def _other_meter(self, event: Acted) -> list[Outcome]:
        """Its error of gain is another one; what was seen of the level before was seen by the other."""
        self._appraisal.forget_gains()
        self._passage.start_evidence_anew(event.at_ns)
        return []

    # -- what it comes to -----------------------------------------------------------------------

    def _closed(self, at_ns: int, verdict: Verdict) -> SessionEnded:
        self.state = next_session_state(self.state, Command.CLOSE)
        self._closed_with = verdict
        return SessionEnded(verdict=verdict, at_ns=at_ns)

    def verdict(self) -> Verdict:
        """Of the unit: what the session ended with, or as far as it has come."""
        return self._closed_with or self._passage.standings.verdict()

    def view(self) -> View:
        """What to see and hear now."""
        standings = self._passage.standings
        if self.state is SessionState.ENDED:
            return view_of(self, standings, Guide(do_now="The session is closed."), None, ())
        watching = tuple(guard.words for guard in self._guards.watching(self._passage.planned))
        return view_of(self, standings, self._guide(), self._guards.alarm, watching)

    def _guide(self) -> Guide:
        if alarm := self._guards.alarm:
            return alarming(alarm)
        if self.state is SessionState.PAUSED:
            return Guide(do_now="Paused. Press to go on.", awaiting_go_on=True)
        return self._passage.attempt.guide()


def _reason(event: Acted, ask: str) -> str:
    if not event.text.strip():
        raise IllegalAction(ask)
    return event.text.strip()
