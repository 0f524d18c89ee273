"""How a practised person finds a peak or a null, and stops a stated way beyond a peak or off an end stop."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from meterlog.simulate.hands import Doing, Hands, Knob, Sight
from meterlog.simulate.look import Look
from meterlog.simulate.policies import RETURN, SEEK, number
from meterlog.simulate.unit import Value

_LEAST = 1e-9  # volts: a display of zero is a long way below any peak, not an error
_HANDS_OFF = "Hands off"
"""How the view begins when it measures and nothing may be turned."""


@dataclass(slots=True)
class Peak:
    """The highest number seen so far (or the lowest, in a null), and where the hand was then."""

    minimum: bool = False
    volts: float | None = None
    place: float = 0.0

    def see(self, look: Look, place: float) -> None:
        if look.volts is not None and (self.volts is None or self._better(look.volts, self.volts)):
            self.volts, self.place = look.volts, place

    def _better(self, volts: float, than: float) -> bool:
        return volts < than if self.minimum else volts > than

    def below_db(self, look: Look) -> float:
        """How far the number shown is from the peak; 0 where no number is shown."""
        if look.volts is None or self.volts is None:
            return 0.0
        away_db = 20 * math.log10(max(self.volts, _LEAST) / max(look.volts, _LEAST))
        return -away_db if self.minimum else away_db


def extremum(hands: Hands, knob: Knob) -> Doing:
    """On until it has clearly fallen, back over the top to the other flank if need be, then to the top.

    All over again as long as the view does not say that both sides are known; ends when it asks for the foot.
    """
    look = yield from hands.pause(0.0)
    while not look.awaiting_go_on:
        peak = Peak()
        look = yield from hands.sweep(knob, 1.0, _fallen(hands, knob, peak, 1.2))
        if look.phase != RETURN:
            peak = Peak()  # what was highest until now lay on the way to the wrong side
            yield from hands.sweep(knob, -1.0, _fallen(hands, knob, peak, 1.2))
        yield from hands.turn(knob, peak.place - hands.place(knob))
        look = yield from _climb(hands, knob, peak)
    return look


def coarse_then_fine(
    hands: Hands, knob: Knob, coarse: Mapping[str, Value], fine: Mapping[str, Value]
) -> Doing:
    """With the tone that has one peak only, then with the one that is to be right; each as the view asks."""
    while True:
        for controls in (coarse, fine):
            yield from hands.pause(hands.reaction_s())
            for control, value in controls.items():
                yield from hands.set(control, value)
            look = yield from hands.press()
            while look.says.startswith(_HANDS_OFF):
                look = yield from hands.pause(hands.reaction_s())
            yield from extremum(hands, knob)


def null(hands: Hands, knob: Knob, *, bracket_db: float = 8.0) -> Doing:
    """From the low end over the first maximum, through the null until it has clearly risen, and back to it.

    Both ends of travel read low too: whoever only looks for a low reading ends there.
    """
    while True:
        yield from hands.sweep(knob, -1.0, lambda _: False)
        yield from hands.sweep(knob, 1.0, _fallen(hands, knob, Peak(), 3.0))
        bottom = Peak(minimum=True)
        yield from hands.sweep(knob, 1.0, _fallen(hands, knob, bottom, bracket_db))
        yield from hands.turn(knob, bottom.place - hands.place(knob))
        yield from _climb(hands, knob, bottom)


def back_off(hands: Hands, knob: Knob, fall_db: float) -> Doing:
    """From the low side over the peak, most of the way down, the rest in small strokes from above.

    All of it again when the view wants the peak once more.
    """
    while True:
        peak = Peak()
        yield from hands.sweep(knob, -1.0, _fallen(hands, knob, peak, 1.0))
        look = yield from hands.pause(0.0)
        while True:
            yield from hands.sweep(knob, 1.0, _close(hands, knob, peak, 0.4))
            yield from hands.sweep(knob, 1.0, _fallen(hands, knob, peak, max(0.5, fall_db - 1.0)))
            look = yield from _creep_down(hands, knob, peak, fall_db, 1.0)
            if look.phase == SEEK:
                break
            # Too far. A trimmer has slack, so the goal is only approached from the peak's side.
            yield from hands.sweep(knob, -1.0, _close(hands, knob, peak, 0.4))


def back_off_from_stop(hands: Hands, knob: Knob, fall_db: float, stop: float) -> Doing:
    """To the end stop (`stop`: -1 or 1), a look, the foot; then off it in small strokes, from that side."""
    while True:
        yield from hands.turn(knob, stop)
        look = yield from number(hands)
        while look.phase == SEEK:
            look = yield from hands.press()
        peak = Peak()
        peak.see(look, hands.place(knob))
        while look.phase != SEEK:
            look = yield from _creep_down(hands, knob, peak, fall_db, -stop)
            if look.phase == RETURN:
                look = yield from hands.sweep(knob, stop, _close(hands, knob, peak, 0.4 * fall_db))


def _climb(hands: Hands, knob: Knob, peak: Peak) -> Doing:
    """Touches, each looked at, until the level is as high as it was; the other way when one made it worse."""
    by = 4 * knob.fine
    look = yield from number(hands)
    while look.phase == RETURN:
        before_db = peak.below_db(look)
        if before_db > 0.06:
            yield from hands.turn(knob, by)
        look = yield from number(hands)
        if peak.below_db(look) > before_db:
            by *= -0.7
    return look


def _creep_down(hands: Hands, knob: Knob, peak: Peak, fall_db: float, way: float) -> Doing:
    """Small strokes down to the goal, then hands off; ends when it turns out, or the view says, too far, and
    when the view begins anew."""
    by = knob.probe / 2
    look = yield from number(hands)
    while (left_db := _left_db(look, peak, fall_db)) > -0.15 and look.phase not in (RETURN, SEEK):
        if left_db < 0.08:
            look = yield from number(hands)
            continue
        yield from hands.turn(knob, way * by)
        look = yield from number(hands)
        still_db = _left_db(look, peak, fall_db)
        by = min(2 * by, knob.stroke, max(knob.fine, 0.8 * by * still_db / max(left_db - still_db, 0.02)))
    return look


def _left_db(look: Look, peak: Peak, fall_db: float) -> float:
    """How much there is still to fall: to the view's target if it shows one, else below the peak seen."""
    if look.target_volts is None:
        return fall_db - peak.below_db(look)
    return 20 * math.log10(max(look.volts or 0.0, _LEAST) / look.target_volts)


def _fallen(hands: Hands, knob: Knob, peak: Peak, fall_db: float) -> Sight:
    def seen(look: Look) -> bool:
        peak.see(look, hands.place(knob))
        return peak.below_db(look) > fall_db

    return seen


def _close(hands: Hands, knob: Knob, peak: Peak, within_db: float) -> Sight:
    def seen(look: Look) -> bool:
        peak.see(look, hands.place(knob))
        return peak.below_db(look) < within_db

    return seen
