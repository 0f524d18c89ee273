"""A trial of "settled": what is shown, what the method is told, and the truth it is judged by."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple, Protocol

from meterlog.detect import Reason
from tests.trials.shown import Shown


@dataclass(frozen=True, slots=True)
class Task:
    """What a method is told beforehand: the step's tolerance and dwell, and what the meter's profile says.

    tolerance   half-width, base unit
    horizon_s   when what moves by itself should have ended
    period_s    usual interval between readings
    lag_s       averaging time of the meter, 0.0 unknown or none
    """

    tolerance: float
    dwell_s: float
    period_s: float
    horizon_s: float = 5.0
    lag_s: float = 0.0


@dataclass(frozen=True, slots=True)
class Plateau:
    """A level that is held. From `settled_s` to `ends_s` the noise-free response stays in tolerance."""

    begins_s: float
    settled_s: float
    ends_s: float
    level: float


def nowhere(time_s: float) -> float | None:
    """What a signal that never settles tends to."""
    return None


@dataclass(frozen=True, slots=True)
class Trial:
    """`response` is the meter's noise-free response over time, before rounding; no plateaus: never settles.

    `reason` is why it never settles, None for trials that have plateaus. `tends_to` is the level that a
    claim at a time is judged by; it knows stops too short to be plateaus as well.
    """

    kind: str
    seed: int
    task: Task
    shown: tuple[Shown, ...]
    response: Callable[[float], float]
    plateaus: tuple[Plateau, ...] = ()
    reason: Reason | None = None
    tends_to: Callable[[float], float | None] = nowhere


class Claim(NamedTuple):
    """A method's word that the level is settled now."""

    value: float
    standard_uncertainty: float | None = None


class Method(Protocol):
    def update(self, shown: Shown) -> Claim | None:
        """A claim as long as the level counts as settled."""
        ...


MethodFor = Callable[[Task], Method]
