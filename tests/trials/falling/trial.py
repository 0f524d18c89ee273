"""A trial of "fallen by N": what is shown, what the method is told, and the truth it is judged by."""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Protocol

from tests.trials.shown import Shown


@dataclass(frozen=True, slots=True)
class Task:
    """What a method is told beforehand. Levels are linear (volts); the peak is known from before.

    peak, target  base unit; the way between them is N
    period_s      usual interval between readings
    lag_s         time constant of the meter's averaging, 0.0 none
    """

    peak: float
    target: float
    period_s: float
    lag_s: float = 0.0

    @property
    def way(self) -> float:
        return abs(self.peak - self.target)


@dataclass(frozen=True, slots=True)
class Trial:
    """`level` is the true level at the unit's output over time, before meter, noise and rounding.

    `reached_s` is when it first passes the target; None if it never does.
    """

    kind: str
    seed: int
    task: Task
    shown: tuple[Shown, ...]
    level: Callable[[float], float]
    reached_s: float | None


class Method(Protocol):
    def update(self, shown: Shown) -> bool:
        """True from the moment the fall is announced."""
        ...


MethodFor = Callable[[Task], Method]
