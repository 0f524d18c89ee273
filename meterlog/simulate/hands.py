"""A person's hands: slow, late, not quite exact. They run on the time that comes in with each look.

Everything a person does is a generator that is sent one `Look` after another and ends with the last one
seen, so that doings can be put together with `yield from` and run in real or in virtual time alike.
Times are common practice: simple reactions take 0.16 to 0.19 s, recognising about 0.38 s.
"""

import math
import random
from collections.abc import Callable, Generator
from dataclasses import dataclass

from meterlog.simulate.look import GO_ON, Acts, Look
from meterlog.simulate.unit import Value

Doing = Generator[None, Look, Look]
Sight = Callable[[Look], bool]


@dataclass(frozen=True, slots=True, kw_only=True)
class Knob:
    """Something that a hand turns, in shares of travel (trimmer) or in the dial's own unit.

    speed   units per second of a hand that knows where it goes
    sweep   units per second of a hand that watches while it turns
    probe   a first cautious movement, to feel which way and how far
    stroke  the longest movement between two looks
    fine    the smallest movement a hand can make on purpose
    mark    where a pointer that it moves should stand, on the pointer's scale
    usual   what one unit is known to do to the shown volts, from machines of the kind; None: nobody knows
    """

    name: str
    is_dial: bool = False
    speed: float = 0.06
    sweep: float = 0.02
    probe: float = 0.02
    stroke: float = 0.10
    fine: float = 0.0008
    usual: float | None = None
    mark: float = 0.0


class Hands:
    """One person's hands. `acts` may fail; its errors pass through."""

    def __init__(self, acts: Acts, seed: int = 0) -> None:
        self._acts = acts
        self._random = random.Random(seed)  # noqa: S311 - a person's spread, not a secret
        self._places: dict[str, float] = {}
        self._controls: dict[str, Value] = {}

    def place(self, knob: Knob) -> float:
        """Where the hand believes the knob to be: the dial's number, or a trimmer's way since the start."""
        return self._places.get(knob.name, 0.0)

    def reaction_s(self) -> float:
        return self._random.uniform(0.2, 0.4)

    def pause(self, seconds: float) -> Doing:
        """Hands off for this long."""
        look = yield
        end_s = look.at_s + seconds
        while look.at_s < end_s:
            look = yield
        return look

    def turn(self, knob: Knob, by: float) -> Doing:
        """Turn about this far: briskly, slower near the goal, some percent too far or too short."""
        goal = math.copysign(max(abs(by), knob.fine), by) * (1 + self._random.gauss(0, 0.06))
        return (
            yield from self._move(knob, goal, lambda left: max(knob.speed / 8, min(knob.speed, 5 * left)))
        )

    def sweep(self, knob: Knob, by: float, until: Sight) -> Doing:
        """Turn steadily until something is seen, and a reaction time beyond that; at most this far.

        While the display shows no number the hand waits: nobody turns on blindly.
        """
        return (yield from self._move(knob, by, lambda _: knob.sweep, until))

    def set(self, control: str, value: Value) -> Doing:
        """Reach for a control and set it, unless it is there already."""
        look = yield
        if look.controls.get(control, self._controls.get(control)) == value:
            return look
        look = yield from self.pause(self.reaction_s())
        self._set(control, value)
        return look

    def press(self) -> Doing:
        """The foot switch, and a moment to see what happens."""
        yield from self.pause(self.reaction_s())
        self._acts.press(GO_ON)
        return (yield from self.pause(0.25))

    def type(self, text: str) -> Doing:
        """A text into the keyboard, and a moment to see what happens."""
        yield from self.pause(self.reaction_s() + 0.1 * len(text))
        self._acts.enter(text)
        return (yield from self.pause(0.25))

    def _move(
        self, knob: Knob, goal: float, speed: Callable[[float], float], until: Sight | None = None
    ) -> Doing:
        look = yield
        done, stop_s = 0.0, math.inf
        while abs(goal - done) > 1e-9 and look.at_s < stop_s:
            before_s = look.at_s
            look = yield
            if until is not None and look.volts is None:
                continue
            left = abs(goal - done)
            piece = math.copysign(min(left, speed(left) * (look.at_s - before_s)), goal)
            self._turn(knob, piece)
            done += piece
            if until is not None and stop_s == math.inf and until(look):
                stop_s = look.at_s + self.reaction_s()
        return look

    def _turn(self, knob: Knob, by: float) -> None:
        self._places[knob.name] = self.place(knob) + by
        if knob.is_dial:
            self._set(knob.name, self._places[knob.name])
        else:
            self._acts.turn(knob.name, by)

    def _set(self, control: str, value: Value) -> None:
        self._acts.set(control, value)
        self._controls[control] = value
        if isinstance(value, float):
            self._places[control] = value
