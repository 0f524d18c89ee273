"""What a practised person knows of a step, and how trimmers are set to a window by what can be seen."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field

from meterlog.simulate.hands import Doing, Hands, Knob
from meterlog.simulate.look import Look
from meterlog.simulate.unit import Value

TRIM, SEEK, RETURN = "trim", "seek", "return"
"""Phases of a step, as the view names them."""

Feel = dict[str, float]
"""What one unit of a knob did to the shown volts when it was last turned; kept from step to step."""

LOOK_S = 0.45
"""Between two looks at a display; a handheld shows two and a half readings a second."""
_MOST_LOOKS = 4
"""Enough for such a display to follow, filter and all; one that wanders for longer is taken as it is."""
_AT_THE_END = 3
"""Movements without any change after which a hand takes the trimmer to be at its end, and says so by foot."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StepPlan:
    """What the person knows of a step from its text.

    controls    to be set at its start
    coarse      to be set for the tone that an extremum is looked for with first; `controls` for the fine one
    knob        what is turned in it
    source      the oscillator's knob where the step needs that too
    fall_db     how far beyond the peak, or off the end stop, to stop
    stop        which end that stop is, -1 or 1; 0 where there is none
    most_volts  the source goes no higher
    minimum     the peak is a null between two maxima
    pointer     the scale that is read in it, and read_to how finely: "VU", 0.1
    rows        for a table: what is to be set for each row, by the row's name
    look_s      how long to look at what the controls did before the foot says so
    patience_s  how long to wait where the view waits for time to pass, then the foot ends it; None: for ever
    conditions  the same for each condition of an alternating step, told apart by
                target_volts, which the view shows
    """

    controls: Mapping[str, Value] = field(default_factory=dict)
    coarse: Mapping[str, Value] = field(default_factory=dict)
    knob: Knob | None = None
    source: Knob | None = None
    fall_db: float = 0.0
    stop: float = 0.0
    most_volts: float = math.inf
    minimum: bool = False
    look_s: float = 0.0
    patience_s: float | None = None
    pointer: str = ""
    read_to: float = 0.1
    rows: Mapping[str, Mapping[str, Value]] = field(default_factory=dict)
    conditions: tuple["StepPlan", ...] = ()
    target_volts: float = 0.0


def watch(hands: Hands) -> Doing:
    """Hands in the lap; the foot goes on when the view asks for it."""
    while True:
        look = yield from hands.pause(hands.reaction_s())
        if look.awaiting_go_on:
            yield from hands.press()


def adjust(hands: Hands, knob: Knob, feel: Feel) -> Doing:
    """Turn, look, turn again until the middle of the window is near; come back when it wanders off."""
    look = yield from number(hands)
    while True:
        look = yield from toward(hands, knob, look, feel)


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
            before, look = look, (yield from toward(hands, plan.knob, look, feel))
            still = still + 1 if _stuck(before, look, plan.knob, feel) else 0
        else:
            look = yield from hands.pause(hands.reaction_s())


def set_up(hands: Hands, plan: StepPlan) -> Doing:
    """Set the controls that the step's text asks for, one after another."""
    look = yield from hands.pause(hands.reaction_s())
    for control, value in plan.controls.items():
        look = yield from hands.set(control, value)
    return look


def toward(hands: Hands, knob: Knob, look: Look, feel: Feel) -> Doing:
    """One movement toward the target, or hands off."""
    error = _error(look)
    if error is None or fits(look, knob, feel):
        return (yield from hands.pause(hands.reaction_s()))
    known = feel.get(knob.name, knob.usual)
    by = error / known if known else knob.probe
    return (yield from _stroke(hands, knob, max(-knob.stroke, min(knob.stroke, by)), look, feel))


def fits(look: Look, knob: Knob, feel: Feel) -> bool:
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
    look = yield from number(hands)
    moved = hands.place(knob) - place
    if abs(moved) >= knob.probe / 2 and look.volts is not None and before.volts is not None:
        change = (look.volts - before.volts) / moved
        if abs(change * knob.probe) > _half_window(look) / 10:
            feel[knob.name] = change
    return look


def number(hands: Hands) -> Doing:
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


def _stuck(before: Look, look: Look, knob: Knob, feel: Feel) -> bool:
    """Whether a movement changed nothing although much is missing: the clutch slips at the end of travel."""
    if before.volts is None or look.volts is None or fits(look, knob, feel):
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
