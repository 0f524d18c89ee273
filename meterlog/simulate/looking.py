"""How a practised person goes about steps in which they read, type, wait or only set the source."""

from collections.abc import Mapping

from meterlog.simulate.hands import Doing, Hands, Knob
from meterlog.simulate.look import ADJUST, Look
from meterlog.simulate.policies import LOOK_S, StepPlan, watch
from meterlog.simulate.unit import Value


def read_pointer(hands: Hands, plan: StepPlan) -> Doing:
    """Look at the scale, turn while it is off and there is something to turn, type what it shows."""
    look = yield from hands.pause(LOOK_S)
    while True:
        if look.asks_for:
            if plan.knob and look.pass_name == ADJUST and look.target_volts is not None:
                look = yield from _turn_pointer(hands, plan.knob, plan.pointer, look)
            shown = round(look.pointers[plan.pointer] / plan.read_to) * plan.read_to
            look = yield from hands.type(f"{shown:.6g}")
        look = yield from hands.pause(LOOK_S)


def _turn_pointer(hands: Hands, knob: Knob, pointer: str, look: Look) -> Doing:
    """Turn until the pointer stands at the mark that the step's title names."""
    for _ in range(12):
        off = look.pointers[pointer] - knob.mark
        if abs(off) < 0.02:
            break
        yield from hands.turn(knob, -off / (knob.usual or 1.0))
        look = yield from hands.pause(2 * LOOK_S)
    return look


def sign(hands: Hands, name: str) -> Doing:
    """Type a name, and leave it at that."""
    yield from hands.type(name)
    return (yield from watch(hands))


def table(hands: Hands, rows: Mapping[str, Mapping[str, Value]]) -> Doing:
    """Set the source as the row asks, press if the view wants that too, hands off."""
    look = yield from hands.pause(hands.reaction_s())
    while True:
        if look.awaiting_go_on or look.wants_source:
            for control, value in rows.get(look.phase.partition(",")[0], {}).items():
                look = yield from hands.set(control, value)
        if look.awaiting_go_on:
            look = yield from hands.press()
        look = yield from hands.pause(hands.reaction_s())


def wait_out(hands: Hands, patience_s: float) -> Doing:
    """Wait, and then end by foot what only waits for time to pass."""
    yield from hands.pause(patience_s)
    yield from hands.press()
    return (yield from watch(hands))
