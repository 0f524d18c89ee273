"""What a simulated unit is made of: trimmers, controls, and a pure function from these to volts."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Protocol

from meterlog.simulate.errors import SimulateError

Value = str | bool | float


@dataclass(frozen=True, slots=True)
class Trimmer:
    """A multi-turn trimmer with backlash; every number is a share of its whole travel, 0 to 1.

    shaft  where the screw stands
    wiper  where the contact stands: it follows the shaft only when the slack is taken up
    """

    shaft: float
    wiper: float
    slack: float

    def turned(self, by: float) -> "Trimmer":
        """The screw moved by this share of its travel; the clutch slips at both ends."""
        shaft = min(1.0, max(0.0, self.shaft + by))
        wiper = min(shaft + self.slack / 2, max(shaft - self.slack / 2, self.wiper))
        return replace(self, shaft=shaft, wiper=min(1.0, max(0.0, wiper)))


@dataclass(frozen=True, slots=True, kw_only=True)
class TrimmerPlan:
    """How a trimmer is built and where the last person left it."""

    hint: str
    start: float
    turns: float = 15.0
    slack: float = 0.003

    def fresh(self) -> Trimmer:
        return Trimmer(self.start, self.start, self.slack)


@dataclass(frozen=True, slots=True)
class Choice:
    """A control with named positions."""

    start: str
    choices: tuple[str, ...]
    kind: str = field(default="choice", init=False)

    def accept(self, name: str, value: object) -> Value:
        if isinstance(value, str) and value in self.choices:
            return value
        raise SimulateError(f"{name}: {value!r} is not one of {', '.join(map(repr, self.choices))}")


@dataclass(frozen=True, slots=True)
class Switch:
    """A control that is on or off."""

    start: bool
    kind: str = field(default="switch", init=False)

    def accept(self, name: str, value: object) -> Value:
        if isinstance(value, bool):
            return value
        raise SimulateError(f"{name}: {value!r} is neither true nor false")


@dataclass(frozen=True, slots=True)
class Dial:
    """A control with a number on it; set within its scale, in the stated unit."""

    start: float
    low: float
    high: float
    unit: str
    kind: str = field(default="dial", init=False)

    def accept(self, name: str, value: object) -> Value:
        number = isinstance(value, int | float) and not isinstance(value, bool)
        if number and self.low <= float(value) <= self.high:  # type: ignore[arg-type]
            return float(value)  # type: ignore[arg-type]
        raise SimulateError(f"{name}: {value!r} is no number from {self.low:g} to {self.high:g} {self.unit}")


Control = Choice | Switch | Dial


@dataclass(frozen=True, slots=True)
class Positions:
    """Where every trimmer and control stands, and whether the unit's lamp is lit.

    set_s  when a control was brought to where it stands; one that nobody has moved is not in it
    """

    trimmers: Mapping[str, Trimmer]
    controls: Mapping[str, Value]
    lit: bool = False
    set_s: Mapping[str, float] = field(default_factory=dict)

    def wiper(self, name: str) -> float:
        return self.trimmers[name].wiper

    def for_s(self, control: str, time_s: float) -> float:
        """For how long a control has stood where it stands; for ever if nobody has moved it."""
        return time_s - self.set_s.get(control, -math.inf)


class Plain:
    """What most units have in common: nothing delays, no lamp, no pointer. A base class for them."""

    delay_s = 0.0

    def lit(self, now: Positions) -> bool:
        return False

    def pointers(self, now: Positions, time_s: float) -> Mapping[str, float]:
        return {}


class Unit(Protocol):
    """A scenario's equipment. Pure: equal arguments give equal volts, whenever and wherever it runs."""

    name: str
    trimmers: Mapping[str, TrimmerPlan]
    controls: Mapping[str, Control]
    delay_s: float
    """How long before now the positions still matter (tape between two heads); 0 where they do not."""

    def outputs(self, now: Positions, before: Positions, time_s: float) -> Mapping[str, float]:
        """Volts at each measuring point; `before` is where everything stood delay_s ago."""

    def lit(self, now: Positions) -> bool:
        """Whether the lamp is lit, given that it was as `now` says (the lamp has hysteresis)."""

    def pointers(self, now: Positions, time_s: float) -> Mapping[str, float]:
        """What the unit's own scales show to an eye, each in its scale's unit."""
