"""Two trimmers that disturb each other under one meter, in virtual time.

What is drawn for a unit (all ranges assumed, from what is usual on benches):

* coupling r 0.2 to 0.9, shared between the two trimmers by a factor of 0.5 to 2; levels are linear in dB.
* each trimmer stands 1 to 3 dB (of its own condition) from where it has to be; both conditions are to hold
  within 0.1 dB of 0.775 V.
* meter, turns and backlash as in the trial "how it feels".
"""

import random
from dataclasses import dataclass, replace

from tests.trials.feel.bench import TARGET_VOLTS, Bench, Case, Job, case_of

LEAST_R, MOST_R = 0.2, 0.9


@dataclass(frozen=True, slots=True)
class Unit:
    """`effects[i][j]`: dB at condition i for one dB at condition j by its own trimmer."""

    r: float
    effects: tuple[tuple[float, float], tuple[float, float]]
    errors_db: tuple[float, float]
    cases: tuple[Case, Case]


def unit_of(seed: int) -> Unit:
    """The same unit for every way to set it; the meter is that of the first case."""
    dice = random.Random(f"rounds {seed}")
    r, split = dice.uniform(LEAST_R, MOST_R), 0.5 * 4.0 ** dice.random()
    first, second = (case_of(Job.ADJUST, 2 * seed + number) for number in range(2))
    a, b = (dice.choice((-1.0, 1.0)) * dice.uniform(1.0, 3.0) for _ in range(2))
    return Unit(
        r=r,
        effects=((1.0, r * split), (1.0 / split, 1.0)),
        errors_db=(a + r * split * b, a / split + b),
        cases=(first, replace(second, meter=first.meter, period_s=first.period_s)),
    )


class PairBench(Bench):
    """`at` is the condition that is set up: its level is shown, its trimmer turned."""

    def __init__(self, unit: Unit, seed: str) -> None:
        self.at = 0
        self._unit = unit
        self._trimmers = [replace(case.trimmer) for case in unit.cases]
        self._look()
        super().__init__(self._case(TARGET_VOLTS), seed)

    def _case(self, target_volts: float) -> Case:
        return replace(self._unit.cases[self.at], level_volts=self._level_volts, target_volts=target_volts)

    def set_up(self, at: int) -> None:
        self.at = at
        self._look()

    def aim(self, target_volts: float) -> None:
        """What the page shows as the target is what the hand works to."""
        self.case = self._case(target_volts)

    def turn(self, degrees: float) -> None:
        case = self._unit.cases[self.at]
        self._trimmers[self.at] = self._trimmers[self.at].turned(degrees / case.degrees)
        self._look()

    @property
    def at_the_end(self) -> bool:
        """Of the trimmer's travel: the hand feels the clutch slip."""
        return self._trimmers[self.at].shaft in (0.0, 1.0)

    def errors_db(self) -> tuple[float, float]:
        """The true levels about the target."""
        (a, b), (c, d) = self._unit.effects
        first, second = (self._moved_db(number) for number in range(2))
        errors = self._unit.errors_db
        return errors[0] + a * first + b * second, errors[1] + c * first + d * second

    def _moved_db(self, number: int) -> float:
        case = self._unit.cases[number]
        return case.db_per_degree * case.degrees * (self._trimmers[number].wiper - case.trimmer.wiper)

    def _look(self) -> None:
        self._volts: float = TARGET_VOLTS * 10.0 ** (self.errors_db()[self.at] / 20.0)

    def _level_volts(self, _wiper: float) -> float:
        """Both trimmers move it."""
        return self._volts
