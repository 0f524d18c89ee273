"""A technician who works through a procedure alone: looks, picks what to do, lets the hands do it."""

from collections.abc import Mapping

from meterlog.simulate import lamps, looking, peaking, policies
from meterlog.simulate.hands import Doing, Hands, Knob
from meterlog.simulate.look import ADJUST, Acts, Look
from meterlog.simulate.policies import StepPlan

CATCHING = {"raise": True, "lower": False}
"""Phases of a threshold step in which the lamp's change is waited for, and to what it changes."""


class Technician:
    """Give `see` a look a few times a second; what is to be done is done through `acts`.

    steps  what the person knows of each step, by the step's id; a step that is not there asks for
           nothing but the foot
    """

    def __init__(self, steps: Mapping[str, StepPlan], acts: Acts, seed: int = 0) -> None:
        self._steps = steps
        self._hands = Hands(acts, seed)
        self._feel: policies.Feel = {}
        self._entry: tuple[str, str] = ("", "")
        self._phase = ""
        self._doing: Doing | None = None

    def see(self, look: Look) -> None:
        """One glance; the doing under way goes on, or another begins because the view shows another step."""
        plan = self._steps.get(look.step, StepPlan())
        if self._doing is None or self._entry != (look.step, look.pass_name):
            self._entry, self._phase = (look.step, look.pass_name), look.phase
            self._begin(self._enter(look, plan))
        elif plan.source and self._phase != look.phase:  # each phase with a lamp is another job
            self._phase = look.phase
            self._begin(self._policy(look, plan))
        assert self._doing is not None
        self._doing.send(look)

    def _begin(self, doing: Doing) -> None:
        self._doing = doing
        next(doing)

    def _enter(self, look: Look, plan: StepPlan) -> Doing:
        """Do what the text asks for, confirm it if the view waits for that, then work."""
        look = yield from policies.set_up(self._hands, plan)
        if plan.controls and look.pattern == "extremum":  # the filter's tail would look like a first peak
            look = yield from self._hands.pause(policies.LOOK_S)
        if plan.look_s:
            look = yield from self._hands.pause(plan.look_s)
        if look.awaiting_go_on and not look.phase:
            look = yield from self._hands.press()
        return (yield from self._policy(look, plan))

    def _policy(self, look: Look, plan: StepPlan) -> Doing:
        if plan.source and plan.knob:
            return self._at_the_lamp(look, plan.knob, plan.source, plan.most_volts)
        if plan.conditions:
            return policies.alternate(self._hands, plan.conditions, self._feel)
        turns = look.pass_name == ADJUST or look.pattern == "set-source"
        if plan.knob and turns and not plan.pointer:
            return self._turning(look.pattern, plan.knob, plan)
        return self._looking(look.pattern, plan)

    def _looking(self, pattern: str, plan: StepPlan) -> Doing:
        if plan.pointer:
            return looking.read_pointer(self._hands, plan)
        if pattern == "sign":
            return looking.sign(self._hands, "Simulated Technician")
        if plan.rows:
            return looking.table(self._hands, plan.rows)
        if plan.patience_s is not None:
            return looking.wait_out(self._hands, plan.patience_s)
        return policies.watch(self._hands)

    def _at_the_lamp(self, look: Look, knob: Knob, source: Knob, most_volts: float) -> Doing:
        if look.phase in CATCHING:
            return lamps.catch_lamp(self._hands, source, most_volts, lit=CATCHING[look.phase])
        if look.phase == policies.TRIM:
            return lamps.trim_lamp(self._hands, knob, source, self._feel)
        return policies.watch(self._hands)

    def _turning(self, pattern: str, knob: Knob, plan: StepPlan) -> Doing:
        if pattern == "extremum":
            return self._at_the_peak(knob, plan)
        if pattern == "back-off":
            return peaking.back_off(self._hands, knob, plan.fall_db)
        if pattern == "back-off-from-stop":
            return peaking.back_off_from_stop(self._hands, knob, plan.fall_db, plan.stop)
        return policies.adjust(self._hands, knob, self._feel)

    def _at_the_peak(self, knob: Knob, plan: StepPlan) -> Doing:
        if plan.coarse:
            return peaking.coarse_then_fine(self._hands, knob, plan.coarse, plan.controls)
        return (peaking.null if plan.minimum else peaking.extremum)(self._hands, knob)
