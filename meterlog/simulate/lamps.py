"""How a practised person goes about an indicator that comes on and goes off."""

import math

from meterlog.simulate.hands import Doing, Hands, Knob
from meterlog.simulate.policies import Feel, fits, number, toward, watch

_EDGE_STEP_DB, _EDGE_BACK_DB, _EDGE_PAUSE_S = 0.2, 0.6, 0.2
"""Small steps to an edge; long ones, and the way back, beyond a usual hysteresis; and a look after each."""
_DARK_PROBES = 2
"""Probes by which the source goes down from a lamp that has just come on: beyond its hysteresis, no more."""


def trim_lamp(hands: Hands, knob: Knob, source: Knob, feel: Feel) -> Doing:
    """Bring the source to the level wanted, turn the trimmer until the lamp just lights, lower the source."""
    look = yield from number(hands)
    while not fits(look, source, feel):
        look = yield from toward(hands, source, look, feel)
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
