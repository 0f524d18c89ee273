"""The level at which an indicator comes on (rising) and goes off (falling), and trimming until it fits.

The pedal marks the change; the value is taken once the level has settled after it. Nobody presses at the
moment of the change: a level that moved meanwhile is not the one at which it happened, and is refused.
"""

import math
from enum import StrEnum
from typing import Any

from meterlog.accuracy import Verdict, worst
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.events import Role
from meterlog.procedure.model import Threshold
from meterlog.procedure.patterns.base import NOTHING, Capture, Pattern, Progress
from meterlog.procedure.patterns.dark import Dark
from meterlog.procedure.patterns.edges import Edges
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.ruling import Ruling
from meterlog.procedure.patterns.track import REACTION_S, Track
from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Guide, Sound
from meterlog.reading import Reading

_MOST_WAY = 0.5
"""Tolerances that the level may have moved about a press: a step of 0.25 dB where 0.5 dB is allowed."""

_NEAR = 5.0
"""Tolerances from the target within which the hand is asked for small steps."""


class Phase(StrEnum):
    RAISE = "raise"  # until the indicator comes on: press
    TAKE_LIT = "take lit"  # hold still: the level is taken
    LOWER = "lower"  # until it goes off: press
    TAKE_UNLIT = "take unlit"
    TRIM = "trim"  # turn the trimmer, then press for another round
    PLACE = "place"  # bring the source to the target, where the trimmer is turned instead
    TURN = "turn"  # turn the trimmer until the indicator changes: press


_AFTER_PRESS = {
    Phase.RAISE: Phase.TAKE_LIT,
    Phase.LOWER: Phase.TAKE_UNLIT,
    Phase.TRIM: Phase.RAISE,
    Phase.TURN: Phase.RAISE,
}
_AGAIN = {Phase.TAKE_LIT: Phase.RAISE, Phase.TAKE_UNLIT: Phase.LOWER}


@pattern_for.register
def _(step: Threshold, moment: Moment) -> Pattern:
    return CatchingIndicator(step, moment.ruling, trims=not moment.looking)


class CatchingIndicator(Pattern):
    """Both edges; `trims` says whether a level outside the window asks for the trimmer or ends the step."""

    def __init__(self, step: Threshold, ruling: Ruling, *, trims: bool) -> None:
        self.channel = step.channel
        self._step = step
        self._ruling = ruling
        self._trims = trims
        window = Window.around(step.aim.base, step.tolerance)
        self._window = window.narrowed(ruling.likely(window, step.channel, Role.LIT))
        self._watch = Watch(Stillness(step.settle_within, step.dwell, step.lag))
        self._track = Track(REACTION_S + step.lag + step.delay)
        self._round = 1
        self.restart()

    @property
    def _first(self) -> Phase:
        return Phase.PLACE if self._trims and self._step.by == "trimmer" else Phase.RAISE

    def restart(self) -> None:
        """Both edges have to be come to again; and a trimmer may be turned again."""
        self._edges = Edges(self._step)
        self._dark = Dark(self._step)
        self._track.clear()
        self._too_fast = False
        self._enter(self._first)

    def go_on(self, at_s: float) -> Progress:
        after = _AFTER_PRESS.get(self._phase)
        if self._phase is Phase.PLACE:
            raise IllegalAction("bring the level to the target first; it goes on by itself then")
        if after is None:
            raise IllegalAction(f"hold still: the level is being taken ({self._watch.why_not or 'settling'})")
        if self._phase is Phase.TRIM:
            self._round += 1
        if after in _AGAIN:
            self._track.press(at_s)
        self._enter(after)
        return NOTHING

    def _enter(self, phase: Phase) -> None:
        """What was settled before the press is no evidence of the level after it."""
        self._phase = phase
        self._dark.anew()
        self._watch.restart()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        settlement = self._watch.feed(at_s, reading)
        self._track.see(at_s, self._watch.present)
        if self._phase is Phase.RAISE and self._dark.sees(at_s, self._watch):
            return self._stays_dark()
        if self._phase in (Phase.PLACE, Phase.TURN) and self._watch.settled:
            self._keep_in_place()
        if not self._watch.settled or self._phase not in _AGAIN:
            return Progress(settlement.motion)
        return self._taken()

    def _keep_in_place(self) -> None:
        assert self._watch.level is not None
        inside = self._window.contains(self._watch.level)
        if inside != (self._phase is Phase.TURN):
            self._enter(Phase.TURN if inside else Phase.PLACE)

    # -- the edges ------------------------------------------------------------------------------

    def _taken(self) -> Progress:
        """Unless the level moved too far about the press: then the edge has to be come to again."""
        motion = self._watch.settlement.motion
        way = self._track.way
        self._track.taken()
        self._too_fast = way > _MOST_WAY * self._reach
        if self._too_fast:
            self._enter(_AGAIN[self._phase])
            return Progress(motion)
        return self._taken_lit(way) if self._phase is Phase.TAKE_LIT else self._taken_unlit(way)

    @property
    def _reach(self) -> float:
        return self._step.tolerance.half_width(self._window.target)

    def _taken_lit(self, way: float) -> Progress:
        capture = self._capture(Role.LIT, self._window.limits(), way)
        self._edges.came_on(capture.settlement, capture.verdict, passes=self._ruling.passes(capture))
        self._dark.rounds = 0
        self._enter(Phase.LOWER)
        return Progress(capture.settlement.motion, (capture,))

    def _taken_unlit(self, way: float) -> Progress:
        capture = self._capture(Role.UNLIT, self._edges.off_limits(), way)
        self._edges.unlit = capture.settlement.value
        verdict = worst([self._edges.verdict, capture.verdict])
        fits = self._edges.lit_passes and self._ruling.passes(capture)
        if self._trims and not fits and not self._edges.apart:
            self._trim()
            return Progress(capture.settlement.motion, (capture,))
        reason = self._edges.reason
        return Progress(capture.settlement.motion, (capture,), finished=True, verdict=verdict, reason=reason)

    def _trim(self) -> None:
        if self._first is Phase.PLACE:
            self._round += 1
        self._enter(Phase.PLACE if self._first is Phase.PLACE else Phase.TRIM)

    def _capture(self, role: Role, limits: dict[str, Any], way: float) -> Capture:
        """The change lies somewhere on the way that the level made about the press, anywhere alike."""
        settlement = self._watch.settlement
        assert settlement.standard_uncertainty is not None
        uncertainty = math.hypot(settlement.standard_uncertainty, way / math.sqrt(3.0))
        return Capture(
            role=role,
            channel=self.channel,
            settlement=settlement._replace(standard_uncertainty=uncertainty),
            round=self._round,
            **limits,
        )

    def _stays_dark(self) -> Progress:
        """With a trimmer it may be only set too high: one more round after it was turned."""
        self._dark.rounds += 1
        self._edges.stayed_dark()
        motion = self._watch.settlement.motion
        if self._trims and self._dark.rounds == 1:
            self._trim()
            return Progress(motion)
        reason = f"the {self._step.indicator} did not come on up to {self._step.no_higher_than}"
        return Progress(motion, finished=True, verdict=Verdict.FAIL, reason=reason)

    # -- what to do -----------------------------------------------------------------------------

    @property
    def verdict_so_far(self) -> Verdict:
        """Where nothing is turned, the level at which it came on is final."""
        failed = not self._trims and self._edges.verdict is Verdict.FAIL
        return Verdict.FAIL if failed else Verdict.NOT_JUDGED

    def guide(self) -> Guide:
        awaiting = self._phase in _AFTER_PRESS
        limits = {} if self._phase in (Phase.LOWER, Phase.TAKE_UNLIT) else self._window.bounds()
        distance = self._window.distance(self._watch.present) if limits else {}
        return Guide(
            do_now=self._words(),
            awaiting_go_on=awaiting,
            channel=self.channel,
            present=self._watch.present,
            phase=self._phase,
            round=self._round,
            why_not="" if awaiting else self._watch.why_not,
            cue=self._cue(),
            **limits,
            **distance,
        )

    def _cue(self) -> Cue:
        present = self._watch.present
        if self._phase is Phase.PLACE:
            return self._window.cue(present)
        if self._phase in _AGAIN or (self._phase is Phase.RAISE and self._dark.reached(present)):
            return Cue(Sound.INSIDE)
        hurried = self._near and _MOST_WAY * self._reach < self._track.way < math.inf
        if hurried and present is not None and self._phase in _AGAIN.values():
            return Cue(Sound.SLOW_DOWN, self._window.pitch(present))
        return Cue()

    @property
    def _near(self) -> bool:
        present = self._watch.present
        return present is not None and abs(present - self._window.target) <= _NEAR * self._reach

    def _words(self) -> str:
        lamp = self._step.indicator
        match self._phase:
            case Phase.RAISE:
                return self._raise_words(lamp)
            case Phase.LOWER:
                again = (
                    f"Too fast to tell: raise the level until the {lamp} is on. " if self._too_fast else ""
                )
                return f"{again}Now lower the level in small steps. Press when the {lamp} just goes off."
            case Phase.TRIM:
                return f"{self._edges.words} Trim it, bring the level down again, then press."
            case Phase.PLACE:
                return "Bring the level to the target, and leave it there for the trimmer."
            case Phase.TURN:
                return (
                    f"Leave the level. Turn the trimmer slowly until the {lamp} just changes, or to its end,"
                    " and press; then both edges show where it stands."
                )
            case _:
                return "Hold it there: the level is being taken."

    def _raise_words(self, lamp: str) -> str:
        most = self._step.no_higher_than
        if self._dark.reached(self._watch.present):
            return f"No higher than {most}. Press if the {lamp} is on; if it stays dark, hold the level."
        again = "Too fast to tell. " if self._too_fast else ""
        how = "in small steps, waiting after each" if self._near or self._too_fast else "slowly"
        return f"{again}From a level at which the {lamp} is off, raise it {how}. Press when it just comes on."
