"""Sessions with known truth, run by the engine: the meter's errors are drawn as its maker states them.

What is drawn is what the budget says: one error of gain for a meter and range, one of offset and linearity
for each value, scatter for each reading. The meters are invented.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from random import Random
from typing import NamedTuple

from meterlog.accuracy import Accuracy, Capability, InUse, Range, Specification, Statement
from meterlog.procedure import Acted, ActionKind, Engine, Measured, Outcome, Procedure, SettledValue, Ticked
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Reading, State

NS = 1_000_000_000
LONGEST_S = 60.0
_DIVISORS = {Statement.NORMAL_95: 1.959964, Statement.NORMAL_99: 2.575829}


@dataclass(frozen=True)
class Meter:
    """share: of the reading; counts: of the last digit `count`, in V; one range of 2 V."""

    share: float
    counts: float
    count: float = 1e-4
    statement: Statement = Statement.BOUNDS
    period_s: float = 0.2

    @cached_property
    def in_use(self) -> InUse:
        rows = (Accuracy(reading=self.share, counts=self.counts, statement=self.statement),)
        volts = Capability("voltage", Coupling.AC, (Range(2.0, self.count, 2.0),), accuracies=rows)
        return InUse("meter", Specification("A meter", self.period_s, (volts,)), "voltage", Coupling.AC)

    def error(self, dice: Random, half_width: float) -> float:
        """Drawn as the statement means it."""
        if self.statement is Statement.BOUNDS:
            return dice.uniform(-half_width, half_width)
        return dice.gauss(0.0, half_width / _DIVISORS[self.statement])


class Point(NamedTuple):
    """What stands at a test point, in V: the true rms level, `floor` of it noise; `flat` is scatter that the
    meter adds. `freedom`: how many independent values of the noise one reading averages over."""

    level: float
    floor: float = 0.0
    flat: float = 0.0
    freedom: float = 50.0

    def read(self, dice: Random) -> float:
        """A true-rms reading: mean square of signal and noise, normal about its expectation."""
        if not self.floor:
            return self.level + dice.gauss(0.0, self.flat)
        square, noise = self.level**2, self.floor**2
        spread = math.sqrt((2.0 * noise**2 + 4.0 * (square - noise) * noise) / self.freedom)
        return math.sqrt(max(0.0, dice.gauss(square, spread))) + dice.gauss(0.0, self.flat)


@dataclass
class Session:
    """One session of a procedure that measures on the channel `output`; `meter` None: nobody described it."""

    procedure: Procedure
    meter: Meter
    dice: Random
    described: bool = True

    def __post_init__(self) -> None:
        meters: Mapping[str, InUse] = {"output": self.meter.in_use} if self.described else {}
        self._engine = Engine(self.procedure, meters)
        self._values: list[SettledValue] = []
        self._now_s = 0.0
        self._gain = self.meter.error(self.dice, self.meter.share) if self.described else 0.0
        self._take(self._engine.apply(Acted(0, ActionKind.START)))

    def values(self, points: Sequence[Point]) -> list[SettledValue] | None:
        """Each point is read until its value has settled. None if one of them does not settle."""
        for point in points:
            if not self._settles(point):
                return None
        self._take(self._engine.apply(Ticked(round(self._now_s * NS))))  # what is computed needs no reading
        return self._values

    def _settles(self, point: Point) -> bool:
        before, end_s = len(self._values), self._now_s + LONGEST_S
        width = self.meter.counts * self.meter.count
        offset = self.meter.error(self.dice, width) if self.described else 0.0
        while len(self._values) == before and self._now_s < end_s:
            self._now_s += self.meter.period_s
            shown = point.read(self.dice) * (1.0 + self._gain) + offset
            self._read(round(shown / self.meter.count) * self.meter.count)
        return len(self._values) > before

    def _read(self, value: float) -> None:
        at_ns = round(self._now_s * NS)
        reading = Reading(
            monotonic_ns=at_ns,
            time_ns=at_ns,
            channel="output",
            value=value,
            unit=Unit.VOLT,
            state=State.OK,
            resolution=self.meter.count,
            range_max=2.0,
        )
        self._take(self._engine.apply(Measured(at_ns, reading)))

    def _take(self, outcomes: Sequence[Outcome]) -> None:
        self._values += [one for one in outcomes if isinstance(one, SettledValue)]
