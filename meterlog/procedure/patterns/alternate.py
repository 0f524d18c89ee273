"""Conditions that disturb each other, set in turn until all hold in one pass in which nothing was touched."""

from enum import StrEnum

from meterlog.accuracy import Verdict
from meterlog.detect import Motion
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.model import Alternate, Condition
from meterlog.procedure.patterns.aiming import Aims, Differences, r_text
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.converging import Rounds
from meterlog.procedure.patterns.hold import Hold
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.patterns.watch import Stillness
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Direction, Guide, Sound
from meterlog.reading import Reading

_INNER = 0.3  # nearer the middle than elsewhere: the other conditions' trimmers will disturb it


class Phase(StrEnum):
    SET_UP = "set up"  # switch to the condition, hands off the trimmers: press
    ARRIVE = "arrive"  # the first settled value tells whether it still holds
    TRIM = "trim"  # it did not: turn its trimmer
    KEEP = "keep"  # it did, untouched so far


@pattern_for.register
def _(step: Alternate, moment: Moment) -> Pattern:
    aims = (Differences if step.mode == "difference" else Aims)(step, moment.guards)
    return Alternating(step, aims, moment.ruling, trims=not moment.looking)


class Alternating(Pattern):
    """`trims=False` only measures each condition once (as found, as left).

    Touched means: the first settled value after the pedal was outside the window, or the level left the
    window afterwards. The hand must be away when the pedal is pressed; the setup text says so. A condition
    left beside its target on purpose is captured against its own window: it passes only in a clean round.
    """

    def __init__(self, step: Alternate, aims: Aims, ruling: Ruling, *, trims: bool) -> None:
        self._step = step
        self._aims = aims
        self._ruling = ruling
        self._guard_bands: dict[str, float] = {}  # by condition: as foreseen, then as of its last value
        self._trims = trims
        self._rounds = Rounds(len(step.condition), step.rounds)
        self._enter()

    def _enter(self) -> None:
        condition = self._condition
        self.channel = condition.channel
        still = Stillness(condition.settle_within, condition.dwell, condition.lag)
        self._hold = Hold(still, condition.hold if self._trims else 0.0)
        self._phase = Phase.SET_UP
        self._aim: float | None = None
        if condition.name not in self._guard_bands:
            window = Window.around(condition.aim.base, condition.tolerance)
            width = self._ruling.likely(window, condition.channel, self._role, condition=condition.name)
            self._guard_bands[condition.name] = width

    def part(self, channel: str) -> str:
        return self._condition.name

    @property
    def _condition(self) -> Condition:
        return self._step.condition[self._rounds.index]

    @property
    def _role(self) -> Role:
        return Role.ADJUSTED if self._trims else Role.MEASURED

    @property
    def _own_window(self) -> Window:
        """Where the condition holds."""
        return self._around(self._condition.aim.base)

    def _around(self, target: float, inner: float | None = None) -> Window:
        """Narrowed by the condition's guard band; `inner` as of `Window.aimed_at`."""
        span = self._condition.tolerance
        window = Window.around(target, span) if inner is None else Window.aimed_at(target, span, inner)
        return window.narrowed(self._guard_bands[self._condition.name])

    @property
    def _window(self) -> Window:
        """A condition that holds is not to be bettered: that would be a touch."""
        target = self._aims.target(self._rounds.index) if self._trims else self._condition.aim.base
        if self._phase is Phase.TRIM:
            return self._around(target if self._aim is None else self._aim, _INNER)
        return self._around(target)

    @property
    def _looks_only(self) -> bool:
        return not self._trims or self._aims.looks_only(self._rounds.index)

    def restart(self) -> None:
        """The round at hand begins again: nobody saw what was done to what it has taken."""
        self._rounds.interrupted()
        self._aims.touched_unseen()
        self._enter()

    def go_on(self, at_s: float) -> Progress:
        if self._phase is Phase.SET_UP:
            self._phase = Phase.ARRIVE
            self._hold.restart()
            return NOTHING
        if self._phase is Phase.ARRIVE or not self._may_be_left(at_s):
            raise IllegalAction("not settled inside the window yet; to leave the step, skip it with a reason")
        return self._taken()

    def _may_be_left(self, at_s: float) -> bool:
        """Inside; or short of an aim beside the target, where the trimmer has come to its end."""
        watch = self._hold.watch
        aimed = self._aim is not None and watch.settled and not watch.silent(at_s)
        return aimed or self._hold.ready(at_s, self._window)

    def reading(self, at_s: float, reading: Reading) -> Progress:
        if self._phase is Phase.SET_UP:
            return Progress(Motion.WAITING)
        self._hold.feed(at_s, reading, self._window)
        watch = self._hold.watch
        if self._trims and watch.settled:
            self._see()
        taken = watch.settled if self._looks_only else self._hold.kept and self._phase is not Phase.ARRIVE
        return self._taken() if taken else Progress(watch.settlement.motion)

    def _see(self) -> None:
        """A settled level: what it came back at, and later whether it stays inside."""
        level = self._hold.watch.level
        assert level is not None
        if self._phase is Phase.ARRIVE:
            self._came_back(level)
        if self._phase is Phase.KEEP and not self._looks_only and not self._window.contains(level):
            self._trim(self._aims.aim(self._rounds.index))

    def _came_back(self, level: float) -> None:
        index, condition = self._rounds.index, self._condition
        error = (level - condition.aim.base) / condition.tolerance.half_width(condition.aim.base)
        self._rounds.came_back(error)
        self._aims.came_back(index, self._hold.settlement)
        self._phase = Phase.KEEP
        if self._aims.owes(index):
            self._trim(self._aims.aim(index))

    def _trim(self, aim: float | None) -> None:
        """What was inside another window is no hold in this one."""
        self._phase, self._aim = Phase.TRIM, aim
        self._hold.judge(None)

    def _taken(self) -> Progress:
        settlement = self._hold.settlement
        capture = Capture(
            role=self._role,
            channel=self.channel,
            settlement=settlement,
            condition=self._condition.name,
            round=self._rounds.number,
            **self._own_window.limits(),
        )
        if self._phase is Phase.TRIM:
            self._aims.left(self._rounds.index, settlement)
            if self._aim is not None:
                self._rounds.aimed_off()
        self._guard_bands[capture.condition] = self._ruling.guard_band(capture)
        held = self._phase is Phase.KEEP and not self._looks_only and self._ruling.passes(capture)
        finished, verdict, reason = self._next(capture.verdict, held=held)
        return Progress(settlement.motion, (capture,), finished, verdict, reason)

    def _next(self, verdict: Verdict, *, held: bool) -> tuple[bool, Verdict, str]:
        """To the next condition or round; or how the step ends."""
        rounds = self._rounds
        if rounds.taken(verdict, untouched=held):
            if not self._trims:
                return True, rounds.verdict, ""
            if rounds.clean:
                return True, rounds.verdict, self._held_reason()
            if rounds.hopeless or (rounds.grew and self._aims.runs_away(rounds.worst_at)):
                return True, Verdict.FAIL, self._failed_reason()
            rounds.again()
        self._enter()
        return False, Verdict.NOT_JUDGED, ""

    def _held_reason(self) -> str:
        found = self._aims.interaction(len(self._step.condition) - 1)
        return f"all held untouched in round {self._rounds.number}" + (f"; {r_text(found)}" if found else "")

    def _failed_reason(self) -> str:
        rounds = self._rounds
        condition, unit = (
            self._step.condition[rounds.worst_at],
            self._step.condition[rounds.worst_at].tolerance,
        )
        target = condition.aim.base
        away = unit.deviation(target + rounds.worst_error * unit.half_width(target), target)
        found, note = self._aims.interaction(rounds.worst_at), self._aims.note(rounds.worst_at)
        parts = [
            f"did not hold together within {rounds.number} rounds",
            f"{condition.name} came back {away:+.3g} {unit.shown_unit} off",
            r_text(found) if found else "",
            note,
        ]
        return "; ".join(part for part in parts if part)

    @property
    def verdict_so_far(self) -> Verdict:
        """Where nothing is turned, what a condition came to is final."""
        failed = not self._trims and self._rounds.failed
        return Verdict.FAIL if failed else Verdict.NOT_JUDGED

    def guide(self) -> Guide:
        watch, window = self._hold.watch, self._window
        keywords = window.bounds() | window.distance(watch.present)
        direction = keywords.pop("direction", Direction.NONE)
        return Guide(
            do_now=self._words(direction),
            awaiting_go_on=self._phase is Phase.SET_UP,
            channel=self.channel,
            present=watch.present,
            progress=self._hold.progress,
            phase=self._phase,
            round=self._rounds.number,
            why_not="" if self._phase is Phase.SET_UP else watch.why_not,
            cue=Cue(Sound.PRESS) if self._phase is Phase.SET_UP else window.cue(watch.present),
            direction=direction,
            **keywords,
        )

    def _words(self, direction: Direction) -> str:
        condition = self._condition
        if self._phase is Phase.SET_UP:
            note = self._aims.note(self._rounds.index)
            return f"{condition.setup} Hands off the trimmers, then press. {note}".strip()
        if self._phase is not Phase.TRIM:
            return f"Hands off: does {condition.name} hold?"
        if direction is Direction.HOLD:
            return f"Inside. {self._on_purpose()}Take the tool away."
        return f"{condition.text} {self._on_purpose()}Bring the level {direction}.".strip()

    def _on_purpose(self) -> str:
        """In words, that the window is moved."""
        unit, target, aim = self._condition.tolerance, self._condition.aim.base, self._window.target
        if aim == target:
            return ""
        away = unit.deviation(aim, target)
        return (
            f"Leave it {abs(away):.3g} {unit.shown_unit} {'above' if away > 0 else 'below'} its target on"
            f" purpose: {self._aims.purpose()}. If the trimmer ends before, take the tool away and press. "
        )
