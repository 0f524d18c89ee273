"""The level at which an indicator comes on (rising) and goes off (falling), and trimming until it fits.

The pedal marks the change; the value is taken once the level has settled after it, so that neither the
operator's reaction nor the meter's lag is in the number.
"""

from enum import StrEnum

from meterlog.accuracy import Verdict
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.model import Threshold
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Guide, Sound
from meterlog.reading import Reading


class Phase(StrEnum):
    RAISE = "raise"  # until the indicator comes on: press
    TAKE_LIT = "take lit"  # hold still: the level is taken
    LOWER = "lower"  # until it goes off: press
    TAKE_UNLIT = "take unlit"
    TRIM = "trim"  # turn the trimmer, then press for another round


_AFTER_PRESS = {Phase.RAISE: Phase.TAKE_LIT, Phase.LOWER: Phase.TAKE_UNLIT, Phase.TRIM: Phase.RAISE}


@pattern_for.register
def _(step: Threshold, moment: Moment) -> Pattern:
    return CatchingIndicator(step, trims=not moment.looking)


class CatchingIndicator(Pattern):
    """Both edges; `trims` says whether a level outside the window asks for the trimmer or ends the step."""

    def __init__(self, step: Threshold, *, trims: bool) -> None:
        self.channel = step.channel
        self._step = step
        self._trims = trims
        self._window = Window.around(step.aim.base, step.tolerance)
        self._watch = Watch(Stillness(step.settle_within, step.dwell, step.lag))
        self._phase = Phase.RAISE
        self._round = 1
        self._verdict = Verdict.NOT_JUDGED
        self._lit: float | None = None

    def restart(self) -> None:
        self._watch.restart()
        self._phase = Phase.RAISE

    def go_on(self, at_s: float) -> Progress:
        after = _AFTER_PRESS.get(self._phase)
        if after is None:
            raise IllegalAction(f"hold still: the level is being taken ({self._watch.why_not or 'settling'})")
        if self._phase is Phase.TRIM:
            self._round += 1
        self._enter(after)
        return NOTHING

    def _enter(self, phase: Phase) -> None:
        """What was settled before the press is no evidence of the level after it."""
        self._phase = phase
        self._watch.restart()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        settlement = self._watch.feed(at_s, reading)
        if not self._watch.settled or self._phase not in (Phase.TAKE_LIT, Phase.TAKE_UNLIT):
            return Progress(settlement.motion)
        return self._taken_lit() if self._phase is Phase.TAKE_LIT else self._taken_unlit()

    def _taken_lit(self) -> Progress:
        capture = self._capture(Role.LIT, self._window.limits())
        self._verdict, self._lit = capture.verdict, capture.settlement.value
        self._enter(Phase.LOWER)
        return Progress(capture.settlement.motion, (capture,))

    def _taken_unlit(self) -> Progress:
        capture = self._capture(Role.UNLIT, {})
        if self._trims and self._verdict is Verdict.FAIL:
            self._enter(Phase.TRIM)
            return Progress(capture.settlement.motion, (capture,))
        return Progress(capture.settlement.motion, (capture,), finished=True, verdict=self._verdict)

    def _capture(self, role: Role, limits: dict[str, float | None]) -> Capture:
        return Capture(
            role=role,
            channel=self.channel,
            settlement=self._watch.settlement,
            round=self._round,
            **limits,  # type: ignore[arg-type]
        )

    def guide(self) -> Guide:
        awaiting = self._phase in _AFTER_PRESS
        limits = {} if self._phase in (Phase.LOWER, Phase.TAKE_UNLIT) else self._window.limits()
        distance = self._window.distance(self._watch.present) if limits else {}
        return Guide(
            do_now=self._words(),
            awaiting_go_on=awaiting,
            channel=self.channel,
            present=self._watch.present,
            phase=self._phase,
            round=self._round,
            why_not="" if awaiting else self._watch.why_not,
            cue=Cue() if awaiting else Cue(Sound.INSIDE),
            **limits,
            **distance,
        )

    def _words(self) -> str:
        lamp = self._step.indicator
        match self._phase:
            case Phase.RAISE:
                return f"Raise the level slowly. Press when the {lamp} just comes on."
            case Phase.LOWER:
                return f"Now lower the level slowly. Press when the {lamp} just goes off."
            case Phase.TRIM:
                return f"It came on {self._side()}. Trim it, bring the level down again, then press."
            case _:
                return "Hold it there: the level is being taken."

    def _side(self) -> str:
        assert self._lit is not None
        return "too early" if self._lit < self._window.target else "too late"
