"""Two readings that shall agree: both there at once, or one after the other."""

from typing import Any

from meterlog.detect import Motion
from meterlog.procedure.errors import IllegalAction
from meterlog.procedure.formulas import Input, input_now, input_of
from meterlog.procedure.model import Match
from meterlog.procedure.model.matching import Side
from meterlog.procedure.patterns.base import NOTHING, Pattern, Progress
from meterlog.procedure.patterns.comparing import Comparing
from meterlog.procedure.patterns.hold import Hold
from meterlog.procedure.patterns.making import Moment, pattern_for
from meterlog.procedure.patterns.ruling import Narrowing
from meterlog.procedure.patterns.watch import Stillness, Watch
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Cue, Direction, Guide, Sound
from meterlog.quantity import Unit
from meterlog.reading import Reading

_PRESS: dict[str, Any] = {"cue": Cue(Sound.PRESS)}
_NOT_YET = "not settled in agreement yet; to leave the step, skip it with a reason"


@pattern_for.register
def _(step: Match, moment: Moment) -> Pattern:
    comparing = Comparing(step, trims=not moment.looking, narrowing=Narrowing(moment.ruling))
    if step.at_once:
        return MatchingAtOnce(comparing)
    given = input_of(moment.value_at(step.against)) if step.against else None
    return MatchingInTurn(comparing, given)


def _stillness(step: Match) -> Stillness:
    return Stillness(step.settle_within, step.dwell, step.lag)


class MatchingAtOnce(Pattern):
    """Two channels that are read all the time: the side that stays may drift, the other follows it."""

    def __init__(self, comparing: Comparing) -> None:
        step = comparing.step
        assert step.staying is not None
        self._comparing = comparing
        self._staying, self._moving = step.staying, step.moving
        self.channel = self._moving.channel
        self._stays = Watch(_stillness(step))
        self._hold = Hold(_stillness(step), step.hold)
        self._unit = Unit.NONE
        self._foreseen = False

    @property
    def channels(self) -> frozenset[str]:
        return frozenset({self._staying.channel, self._moving.channel})

    def part(self, channel: str) -> str:
        return (self._staying if channel == self._staying.channel else self._moving).name

    def restart(self) -> None:
        self._stays.restart()
        self._hold.restart()

    def reading(self, at_s: float, reading: Reading) -> Progress:
        self._unit = reading.unit
        if reading.channel == self._staying.channel:
            self._stays.feed(at_s, reading)
        else:
            self._hold.follow(at_s, reading)
        if not self._foreseen and self._stays.settled:
            self._foresee()
        self._hold.judge(self._window if self._stays.settled else None)
        taken = self._taken(at_s) if self._comparing.done(self._hold) else None
        return taken or self._moved()

    def _moved(self) -> Progress:
        return Progress(self._hold.watch.settlement.motion)

    @property
    def _window(self) -> Window | None:
        """About the side that stays where it is settled; about what it shows now as long as it is not."""
        stays = self._stays.level if self._stays.settled else self._stays.present
        return self._comparing.window(stays)

    def _foresee(self) -> None:
        stays = self._comparing.side(self._staying, self._stays.latest())
        assert stays.settlement.value is not None
        origin = self._comparing.origin(self._staying)
        self._comparing.foresee(stays.settlement.value, origin, stays)
        self._foreseen = True

    def go_on(self, at_s: float) -> Progress:
        """Ends the hold early; what does not agree is never taken by a slip of the foot."""
        window = self._window
        agreed = window is not None and self._hold.ready(at_s, window)
        progress = self._taken(at_s, pressed=True) if agreed else None
        if progress is None:
            raise IllegalAction(_NOT_YET)
        return progress

    def _taken(self, at_s: float, *, pressed: bool = False) -> Progress | None:
        """None: nothing can be taken. A value from before a silence is none of now, on either side."""
        moves, stays_at = self._hold.settlement, self._stays.latest()
        if not self._stays.settled or self._stays.silent(at_s) or self._hold.watch.silent(at_s):
            return None
        stays = input_now(stays_at, self._unit, self._comparing.origin(self._staying))
        difference = self._comparing.difference(moves, stays)
        if difference is None:
            return None
        sides = (
            self._comparing.side(self._staying, stays_at),
            self._comparing.side(self._moving, moves, self._window, stays.origin),
        )
        if not self._comparing.agree(self._window, *sides, pressed=pressed):
            self._hold.refused(unsure=self._comparing.narrowing.unsure)
            return self._moved()
        return Progress(moves.motion, (*sides, difference), finished=True, verdict=difference.verdict)

    def guide(self) -> Guide:
        watch, window = self._hold.watch, self._window
        told = self._comparing.told(window, watch.present)
        return Guide(
            do_now=self._comparing.words(told.get("direction", Direction.NONE)),
            channel=self.channel,
            present=watch.present,
            progress=self._hold.progress,
            why_not=watch.why_not or self._of_the_other(),
            **told,
        )

    def _of_the_other(self) -> str:
        return f"{self._staying.name}: {self._stays.why_not}" if self._stays.why_not else ""


class MatchingInTurn(Pattern):
    """First the side that stays, unless an earlier step has given it; then the one that moves."""

    def __init__(self, comparing: Comparing, given: Input | None) -> None:
        self._comparing = comparing
        self._given = given
        self.restart()

    def part(self, channel: str) -> str:
        return self._side.name

    def restart(self) -> None:
        """What was connected may have changed: from the first side on again."""
        self._stays = self._given
        if self._given is not None:
            self._comparing.foresee(self._given.value, self._given.origin)
        staying = self._comparing.step.staying
        self._enter(self._comparing.step.moving if staying is None else staying)

    def _enter(self, side: Side) -> None:
        self._side, self.channel = side, side.channel
        self._hold = Hold(_stillness(self._comparing.step), self._comparing.step.hold)
        self._set_up = not side.setup

    @property
    def _window(self) -> Window | None:
        return self._comparing.window(self._stays.value if self._stays else None)

    def go_on(self, at_s: float) -> Progress:
        if not self._set_up:
            self._set_up = True
            return NOTHING
        window = self._window
        agreed = window is not None and self._hold.ready(at_s, window)
        progress = self._taken_moving(pressed=True) if agreed else None
        if progress is None:
            raise IllegalAction(_NOT_YET)
        return progress

    def reading(self, at_s: float, reading: Reading) -> Progress:
        if not self._set_up:
            return Progress(Motion.WAITING)
        self._hold.follow(at_s, reading)
        self._hold.judge(self._window)
        if self._stays is None and self._hold.watch.settled:
            return self._taken_staying(reading.unit)
        if self._stays is not None and self._comparing.done(self._hold):
            return self._taken_moving() or Progress(self._hold.watch.settlement.motion)
        return Progress(self._hold.watch.settlement.motion)

    def _taken_staying(self, unit: Unit) -> Progress:
        settlement = self._hold.settlement
        capture = self._comparing.side(self._side, settlement)
        self._stays = input_now(settlement, unit, self._comparing.origin(self._side))
        self._comparing.foresee(self._stays.value, self._stays.origin, capture)
        self._enter(self._comparing.step.moving)
        return Progress(settlement.motion, (capture,))

    def _taken_moving(self, *, pressed: bool = False) -> Progress | None:
        """None where there is nothing to take."""
        settlement = self._hold.settlement
        assert self._stays is not None
        difference = self._comparing.difference(settlement, self._stays)
        if difference is None:
            return None
        side = self._comparing.side(self._side, settlement, self._window, self._stays.origin)
        if not self._comparing.agree(self._window, side, pressed=pressed):
            self._hold.refused(unsure=self._comparing.narrowing.unsure)
            return Progress(settlement.motion)
        return Progress(settlement.motion, (side, difference), finished=True, verdict=difference.verdict)

    def guide(self) -> Guide:
        watch = self._hold.watch
        told = self._comparing.told(self._window, watch.present) if self._set_up else _PRESS
        return Guide(
            do_now=self._words(told.get("direction", Direction.NONE)),
            awaiting_go_on=not self._set_up,
            channel=self.channel,
            present=watch.present,
            progress=self._hold.progress,
            phase=self._side.name,
            why_not=watch.why_not if self._set_up else "",
            **told,
        )

    def _words(self, direction: Direction) -> str:
        if not self._set_up:
            return f"{self._side.setup} Then press."
        if self._stays is None:
            return "Hands off: measuring."
        return self._comparing.words(direction)
