"""What no step pattern shows: plan, wait for a setup, alarm of a guard; and all of it together."""

from dataclasses import replace
from typing import Protocol

from meterlog.accuracy import Verdict
from meterlog.procedure.model import Step
from meterlog.procedure.plan import PlannedStep
from meterlog.procedure.standing import Standing, Standings
from meterlog.procedure.view import Alarm, Cue, Guide, PlannedStepView, SessionState, Sound, View

NOTHING_LEFT = (
    "The value is as uncertain as its window is wide: the guard band leaves nothing that would pass."
)


def waiting_for_setup(step: Step, channel: str) -> Guide:
    """The pedal says that what `setup` asks for is done."""
    return Guide(
        do_now=f"{step.setup} Then press.", awaiting_go_on=True, channel=channel, cue=Cue(Sound.PRESS)
    )


def with_nothing_left(guide: Guide) -> Guide:
    """The hand is guided by the limits, and told that this will not be enough."""
    return replace(guide, do_now=f"{guide.do_now} {NOTHING_LEFT}")


def alarming(alarm: Alarm) -> Guide:
    """One reading beyond may be a slip of the probe; after two the step waits for the level and the pedal."""
    then = " Press when the level is back inside." if alarm.tripped else ""
    return Guide(
        do_now=f"{alarm.guard}: beyond the limit. {alarm.text}{then}",
        awaiting_go_on=alarm.tripped,
        channel=alarm.channel,
        present=alarm.value,
        target=alarm.limit,
        cue=Cue(Sound.ALARM),
    )


class Session(Protocol):
    """What of a session is shown as it is."""

    state: SessionState

    @property
    def plan(self) -> tuple[PlannedStep, ...]: ...

    @property
    def place(self) -> int: ...

    def verdict(self) -> Verdict: ...


def view_of(
    session: Session,
    standings: Standings,
    guide: Guide,
    alarm: Alarm | None,
    watching: tuple[str, ...],
) -> View:
    planned = session.plan[session.place]
    return View(
        state=session.state,
        place=session.place,
        step=planned.step.id,
        title=planned.step.title,
        pattern=planned.step.pattern,
        pass_=planned.pass_,
        step_state=standings[session.place].state,
        text=planned.step.text,
        caution=planned.step.caution,
        guide=guide,
        alarm=alarm,
        watching=watching,
        plan=tuple(map(_planned_view, session.plan, standings)),
        verdict=session.verdict(),
    )


def _planned_view(planned: PlannedStep, standing: Standing) -> PlannedStepView:
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
