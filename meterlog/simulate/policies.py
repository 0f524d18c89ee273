"""How a practised person goes about each kind of step, knowing only what can be seen."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from meterlog.simulate.hands import Doing, Hands, Knob, Sight
from meterlog.simulate.look import Look
from meterlog.simulate.unit import Value

TRIM, RETURN = "trim", "return"
"""Phases of a step, as the view names them."""

Feel = dict[str, float]
"""What one unit of a knob did to the shown volts when it was last turned; kept from step to step."""

_LEAST = 1e-9  # volts: a display of zero is a long way below any peak, not an error

LOOK_S = 0.45
"""Between two looks at a display; a handheld shows two and a half readings a second."""
_MOST_LOOKS = 4
"""Enough for such a display to follow, filter and all; one that wanders for longer is taken as it is."""
_EDGE_STEP_DB, _EDGE_BACK_DB, _EDGE_PAUSE_S = 0.2, 0.6, 0.25
"""Small steps to an edge; long ones, and the way back, beyond a usual hysteresis; and a look after each."""
_AT_THE_END = 3
"""Movements without any change after which a hand takes the trimmer to be at its end, and says so by foot."""
_DARK_PROBES = 2
"""Probes by which the source goes down from a lamp that has just come on: beyond its hysteresis, no more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepPlan:
    """What the person knows of a step from its text.

    controls    to be set at its start
    knob        what is turned in it
    source      the oscillator's knob where the step needs that too
    fall_db     how far beyond the peak to stop
    most_volts  the source goes no higher
    minimum     the peak is a null between two maxima
    pointer     the scale that is read in it, and read_to how finely: "VU", 0.1
    rows        for a table: what is to be set for each row, by the row's name
    patience_s  how long to wait where the view waits for time to pass, then the foot ends it; None: for ever
    conditions  the same for each condition of an alternating step, told apart by
                target_volts, which the view shows
    """

    controls: Mapping[str, Value] = field(default_factory=dict)
    knob: Knob | None = None
    source: Knob | None = None
    fall_db: float = 0.0
    most_volts: float = math.inf
    minimum: bool = False
    patience_s: float | None = None
    pointer: str = ""
    read_to: float = 0.1
    rows: Mapping[str, Mapping[str, Value]] = field(default_factory=dict)
    conditions: tuple["StepPlan", ...] = ()
    target_volts: float = 0.0


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


def watch(hands: Hands) -> Doing:
    """Hands in the lap; the foot goes on when the view asks for it."""
    while True:
        look = yield from hands.pause(hands.reaction_s())
        if look.awaiting_go_on:
            yield from hands.press()


def adjust(hands: Hands, knob: Knob, feel: Feel) -> Doing:
    """Turn, look, turn again until the middle of the window is near; come back when it wanders off."""
    look = yield from _number(hands)
    while True:
        look = yield from _toward(hands, knob, look, feel)


def alternate(hands: Hands, conditions: tuple[StepPlan, ...], feel: Feel) -> Doing:
    """Set up the condition that the view asks for, press, and turn its trimmer only when told to.

    Which condition it is shows before the press; afterwards the view may aim beside its target.
    """
    look = yield from hands.pause(hands.reaction_s())
    plan, still = conditions[0], 0
    while True:
        if look.awaiting_go_on:
            plan = min(conditions, key=lambda plan: abs(plan.target_volts - (look.target_volts or 0.0)))
            yield from set_up(hands, plan)
            look = yield from hands.press()
        elif look.phase == TRIM and plan.knob and still == _AT_THE_END:
            look, still = (yield from hands.press()), 0
        elif look.phase == TRIM and plan.knob:
            before, look = look, (yield from _toward(hands, plan.knob, look, feel))
            still = still + 1 if _stuck(before, look, plan.knob, feel) else 0
        else:
            look = yield from hands.pause(hands.reaction_s())


def extremum(hands: Hands, knob: Knob) -> Doing:
    """On until it has clearly fallen, back over the top to the other flank if need be, then to the top.

    All over again as long as the view does not say that both sides are known.
    """
    while True:
        peak = Peak()
        look = yield from hands.sweep(knob, 1.0, _fallen(hands, knob, peak, 1.2))
        if look.phase != RETURN:
            peak = Peak()  # what was highest until now lay on the way to the wrong side
            yield from hands.sweep(knob, -1.0, _fallen(hands, knob, peak, 1.2))
        yield from hands.turn(knob, peak.place - hands.place(knob))
        yield from _climb(hands, knob, peak)


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
    """From the low side over the peak, most of the way down, the rest in small strokes from above."""
    peak = Peak()
    yield from hands.sweep(knob, -1.0, _fallen(hands, knob, peak, 1.0))
    while True:
        yield from hands.sweep(knob, 1.0, _close(hands, knob, peak, 0.4))
        yield from hands.sweep(knob, 1.0, _fallen(hands, knob, peak, max(0.5, fall_db - 1.0)))
        yield from _creep_down(hands, knob, peak, fall_db)
        # Too far. A trimmer has slack, so the goal is only approached from the peak's side.
        yield from hands.sweep(knob, -1.0, _close(hands, knob, peak, 0.4))


def trim_lamp(hands: Hands, knob: Knob, source: Knob, feel: Feel) -> Doing:
    """Bring the source to the level wanted, turn the trimmer until the lamp just lights, lower the source."""
    look = yield from _number(hands)
    while not _fits(look, source, feel):
        look = yield from _toward(hands, source, look, feel)
    if look.lamp:
        yield from hands.sweep(knob, 1.0, lambda look: not look.lamp)
    yield from hands.sweep(knob, -1.0, lambda look: look.lamp)
    yield from hands.turn(source, -_DARK_PROBES * source.probe)
    return (yield from watch(hands))


def catch_lamp(hands: Hands, source: Knob, most_volts: float, *, lit: bool) -> Doing:
    """Raise (or lower) the source until the lamp lights (or goes dark), then say so by foot.

    Long steps find out where; the edge itself is come to in small ones. Where the
    lamp stays dark the hand stops at the most that it may give, and holds.
    """
    upward = 1.0 if lit else -1.0
    look = yield from hands.pause(hands.reaction_s())
    while lit and not look.lamp and (look.volts or 0.0) <= most_volts:
        yield from hands.turn(source, _EDGE_BACK_DB)
        look = yield from hands.pause(_EDGE_PAUSE_S)
    while look.lamp == lit:  # the catch must come from the other side
        yield from hands.turn(source, -upward * _EDGE_BACK_DB)
        look = yield from hands.pause(_EDGE_PAUSE_S)
    while look.lamp != lit and (look.volts or 0.0) <= most_volts:
        yield from hands.turn(source, upward * _EDGE_STEP_DB)
        look = yield from hands.pause(_EDGE_PAUSE_S)
    if look.lamp != lit:
        return (yield from hands.pause(math.inf))
    yield from hands.press()
    return (yield from watch(hands))


def set_up(hands: Hands, plan: StepPlan) -> Doing:
    """Set the controls that the step's text asks for, one after another."""
    look = yield from hands.pause(hands.reaction_s())
    for control, value in plan.controls.items():
        look = yield from hands.set(control, value)
    return look


def _toward(hands: Hands, knob: Knob, look: Look, feel: Feel) -> Doing:
    """One movement toward the target, or hands off."""
    error = _error(look)
    if error is None or _fits(look, knob, feel):
        return (yield from hands.pause(hands.reaction_s()))
    known = feel.get(knob.name, knob.usual)
    by = error / known if known else knob.probe
    return (yield from _stroke(hands, knob, max(-knob.stroke, min(knob.stroke, by)), look, feel))


def _fits(look: Look, knob: Knob, feel: Feel) -> bool:
    """Where the view says let go, or in the middle third of the window; anywhere well inside it while nobody
    knows which way to turn."""
    error = _error(look)
    if look.let_go:
        return True
    return error is not None and abs(error) < (0.3 if knob.name in feel else 0.8) * _half_window(look)


def _stroke(hands: Hands, knob: Knob, by: float, before: Look, feel: Feel) -> Doing:
    """One movement and a look at what it did; short ones teach nothing, slack and noise are in them."""
    place = hands.place(knob)
    yield from hands.turn(knob, by)
    look = yield from _number(hands)
    moved = hands.place(knob) - place
    if abs(moved) >= knob.probe / 2 and look.volts is not None and before.volts is not None:
        change = (look.volts - before.volts) / moved
        if abs(change * knob.probe) > _half_window(look) / 10:
            feel[knob.name] = change
    return look


def _climb(hands: Hands, knob: Knob, peak: Peak) -> Doing:
    """Touches, each looked at, until the level is as high as it was; the other way when one made it worse."""
    by = 4 * knob.fine
    look = yield from _number(hands)
    while look.phase == RETURN:
        before_db = peak.below_db(look)
        if before_db > 0.06:
            yield from hands.turn(knob, by)
        look = yield from _number(hands)
        if peak.below_db(look) > before_db:
            by *= -0.7
    return look


def _creep_down(hands: Hands, knob: Knob, peak: Peak, fall_db: float) -> Doing:
    """Small strokes down to the goal, then hands off; ends when it turns out, or the view says, too far."""
    by = knob.probe / 2
    look = yield from _number(hands)
    while (left_db := _left_db(look, peak, fall_db)) > -0.15 and look.phase != RETURN:
        if left_db < 0.08:
            look = yield from _number(hands)
            continue
        yield from hands.turn(knob, by)
        look = yield from _number(hands)
        still_db = _left_db(look, peak, fall_db)
        by = min(2 * by, max(knob.fine, 0.8 * by * still_db / max(left_db - still_db, 0.02)))
    return look


def _left_db(look: Look, peak: Peak, fall_db: float) -> float:
    """How much there is still to fall: to the view's target if it shows one, else below the peak seen."""
    if look.target_volts is None:
        return fall_db - peak.below_db(look)
    return 20 * math.log10(max(look.volts or 0.0, _LEAST) / look.target_volts)


def _number(hands: Hands) -> Doing:
    """Hands off, and wait until the display has followed: it shows a number that stands still."""
    look = yield from hands.pause(LOOK_S)
    for _ in range(_MOST_LOOKS):
        before, look = look, (yield from hands.pause(LOOK_S))
        if before.volts is None or look.volts is None:
            continue
        if abs(look.volts - before.volts) < _half_window(look) / 4:
            break
    while look.volts is None:
        look = yield from hands.pause(hands.reaction_s())
    return look


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


def _stuck(before: Look, look: Look, knob: Knob, feel: Feel) -> bool:
    """Whether a movement changed nothing although much is missing: the clutch slips at the end of travel."""
    if before.volts is None or look.volts is None or _fits(look, knob, feel):
        return False
    return abs(look.volts - before.volts) < _half_window(look) / 4


def _error(look: Look) -> float | None:
    if look.volts is None or look.target_volts is None:
        return None
    return look.target_volts - look.volts


def _half_window(look: Look) -> float:
    if look.low_volts is None or look.high_volts is None:
        return 0.01 * abs(look.target_volts or 1.0)
    return (look.high_volts - look.low_volts) / 2
