"""Conditions that disturb each other, set in turn until all hold in one pass in which nothing was touched."""

from enum import StrEnum

from meterlog.accuracy import Verdict, worst
from meterlog.detect import Motion
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.model import Alternate, Condition
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.hold import Hold
from meterlog.procedure.patterns.making import Moment, pattern_for
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
    return Alternating(step, trims=not moment.looking)


class Alternating(Pattern):
    """`trims=False` only measures each condition once (as found, as left).

    Touched means: the first settled value after the pedal was outside the window, or the level left the
    window afterwards. The hand must be away when the pedal is pressed; the setup text says so.
    """

    def __init__(self, step: Alternate, *, trims: bool) -> None:
        self._step = step
        self._trims = trims
        self._round = 1
        self._clean: list[bool] = []
        self._verdicts: list[Verdict] = []
        self._enter(0)

    def _enter(self, index: int) -> None:
        self._index = index
        condition = self._condition
        self.channel = condition.channel
        still = Stillness(condition.settle_within, condition.dwell, condition.lag)
        self._hold = Hold(still, condition.hold if self._trims else 0.0)
        self._phase = Phase.SET_UP

    @property
    def _window(self) -> Window:
        """A condition that holds is not to be bettered: that would be a touch."""
        target, tolerance = self._condition.aim.base, self._condition.tolerance
        if self._phase is Phase.TRIM:
            return Window.aimed_at(target, tolerance, _INNER)
        return Window.around(target, tolerance)

    @property
    def _condition(self) -> Condition:
        return self._step.condition[self._index]

    def restart(self) -> None:
        """The condition at hand has to be set up again, and this round proves nothing."""
        self._clean = [False]
        self._enter(self._index)

    def go_on(self, at_s: float) -> Progress:
        if self._phase is Phase.SET_UP:
            self._phase = Phase.ARRIVE
            self._hold.restart()
            return NOTHING
        if not self._hold.ready(at_s, self._window):
            raise IllegalAction("not settled inside the window yet; to leave the step, skip it with a reason")
        return self._taken()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        if self._phase is Phase.SET_UP:
            return Progress(Motion.WAITING)
        self._hold.feed(at_s, reading, self._window)
        self._see_touch()
        watch = self._hold.watch
        taken = watch.settled if not self._trims else self._hold.kept
        return self._taken() if taken else Progress(watch.settlement.motion)

    def _see_touch(self) -> None:
        watch = self._hold.watch
        outside = watch.level is not None and not self._window.contains(watch.level)
        if self._phase is Phase.ARRIVE and watch.settled:
            self._phase = Phase.TRIM if outside else Phase.KEEP
        elif self._phase is Phase.KEEP and outside:
            self._phase = Phase.TRIM

    def _taken(self) -> Progress:
        settlement = self._hold.watch.settlement
        capture = Capture(
            role=Role.ADJUSTED if self._trims else Role.MEASURED,
            channel=self.channel,
            settlement=settlement,
            condition=self._condition.name,
            round=self._round,
            **self._window.limits(),
        )
        self._clean.append(self._phase is Phase.KEEP)
        self._verdicts.append(capture.verdict)
        ending = self._next()
        finished, verdict, reason = ending or (False, Verdict.NOT_JUDGED, "")
        return Progress(settlement.motion, (capture,), finished, verdict, reason)

    def _next(self) -> tuple[bool, Verdict, str] | None:
        """The next condition or round; or how the step ends."""
        if self._index + 1 < len(self._step.condition):
            self._enter(self._index + 1)
            return None
        clean, verdict = all(self._clean), worst(self._verdicts)
        if clean or not self._trims:
            return True, verdict, ""
        if self._round >= self._step.rounds:
            return True, Verdict.FAIL, f"the settings did not hold together within {self._round} rounds"
        self._round += 1
        self._clean, self._verdicts = [], []
        self._enter(0)
        return None

    def guide(self) -> Guide:
        watch = self._hold.watch
        keywords = self._window.limits() | self._window.distance(watch.present)
        direction = keywords.pop("direction", Direction.NONE)
        return Guide(
            do_now=self._words(direction),
            awaiting_go_on=self._phase is Phase.SET_UP,
            channel=self.channel,
            present=watch.present,
            progress=self._hold.progress,
            phase=self._phase,
            round=self._round,
            why_not="" if self._phase is Phase.SET_UP else watch.why_not,
            cue=Cue(Sound.PRESS) if self._phase is Phase.SET_UP else self._window.cue(watch.present),
            direction=direction,
            **keywords,
        )

    def _words(self, direction: Direction) -> str:
        condition = self._condition
        if self._phase is Phase.SET_UP:
            return f"{condition.setup} Hands off the trimmers, then press."
        if self._phase is not Phase.TRIM:
            return f"Hands off: does {condition.name} hold?"
        if direction is Direction.HOLD:
            return "Inside. Take the tool away."
        return f"{condition.text} Bring the level {direction}.".strip()
