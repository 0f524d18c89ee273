"""One attempt at one planned step: its setup, its pattern, and from when on readings tell something."""

from meterlog.accuracy import Verdict
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Acted, ActionKind, Measured
from meterlog.procedure.known import Known, missing, resolved
from meterlog.procedure.ledger import NS
from meterlog.procedure.model import Guard, Prepare
from meterlog.procedure.patterns import Moment, Pattern, Progress, Unreferenced, pattern_for
from meterlog.procedure.patterns.base import NOTHING
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.plan import PlannedStep
from meterlog.procedure.showing import waiting_for_setup, with_nothing_left
from meterlog.procedure.view import Guide


class Attempt:
    """Begins with the confirmed setup, or at once where there is none."""

    def __init__(
        self, planned: PlannedStep, known: Known, at_ns: int, guards: tuple[Guard, ...], ruling: Ruling
    ) -> None:
        self.step = planned.step
        self._pattern = _pattern(planned, known, guards, ruling)
        self._set_up = not self.step.setup
        self.began_ns = self._evidence_ns = at_ns
        if self._set_up:
            self._pattern.begin(at_ns * NS)

    def part(self, channel: str) -> str | None:
        """The part of the step that a reading of this channel belongs to; None until it is set up."""
        return self._pattern.part(channel) if self._set_up else None

    def measured(self, event: Measured) -> Progress:
        """A reading dated before the evidence begins tells nothing of what is now."""
        wanted = event.reading.channel in self._pattern.channels and event.at_ns >= self._evidence_ns
        return self._pattern.reading(event.at_ns * NS, event.reading) if self._set_up and wanted else NOTHING

    def ticked(self, at_ns: int) -> Progress:
        return self._pattern.tick(at_ns * NS) if self._set_up else NOTHING

    def go_on(self, at_ns: int) -> Progress:
        """IllegalAction where the pattern cannot go on now."""
        if not self._set_up:
            return self._confirm(at_ns)
        progress = self._pattern.go_on(at_ns * NS)
        self._evidence_ns = at_ns
        return progress

    def entered(self, at_ns: int, text: str) -> Progress:
        """IllegalAction where nothing is asked for, or not this."""
        if not self._set_up:
            raise IllegalAction("confirm the setup first; then type it in")
        return self._pattern.entered(at_ns * NS, text)

    def inside(self, event: Acted) -> Progress:
        """A row of the step, or its source. IllegalAction where it has none, or awaits none now."""
        if not self._set_up:
            raise IllegalAction("confirm the setup first")
        at_s, text = event.at_ns * NS, event.text.strip()
        match event.kind:
            case ActionKind.REDO_ROW:
                progress = self._pattern.redo_row(at_s, text)
            case ActionKind.SKIP_ROW:
                progress = self._pattern.skip_row(at_s, text)
            case _:
                progress = self._pattern.source(at_s, event.kind, text)
        self._evidence_ns = event.at_ns  # what was read before the source was set tells nothing of it
        return progress

    def anew(self, at_ns: int, *, away: bool = False) -> None:
        """What was seen before is no evidence any more: nobody saw what was done meanwhile.

        `away`: the session was, so nobody knows whether what was set up still is.
        """
        self._pattern.restart()
        self._evidence_ns = at_ns
        if away:
            self._set_up = not self.step.setup

    @property
    def verdict_so_far(self) -> Verdict:
        """FAIL if the step has seen a failure already."""
        return self._pattern.verdict_so_far

    def guide(self) -> Guide:
        if not self._set_up:
            return waiting_for_setup(self.step, self._pattern.channel)
        guide = self._pattern.guide()
        return with_nothing_left(guide) if guide.nothing_left else guide

    def _confirm(self, at_ns: int) -> Progress:
        self._set_up = True
        self.began_ns = self._evidence_ns = at_ns
        self._pattern.begin(at_ns * NS)
        return Progress(finished=isinstance(self.step, Prepare))


def _pattern(planned: PlannedStep, known: Known, guards: tuple[Guard, ...], ruling: Ruling) -> Pattern:
    step, pass_ = planned.step, planned.pass_
    if lacking := missing(step, pass_, known):
        return Unreferenced(lacking)
    return pattern_for(resolved(step, pass_, known), Moment(pass_, known, guards, ruling))
