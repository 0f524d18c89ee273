"""The same over all kinds of signal of the trial "settled": creeping, beating, glitches and still levels.

Each level of a session is of another kind, drawn to its own size. The first value that is called settled
counts, right or wrong. Detector, budget and formulas are called as the engine calls them, for the signals
bring their own dwells, horizons and lags.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from random import Random
from typing import NamedTuple

from meterlog.accuracy import Accuracy, Capability, InUse, Range, Specification
from meterlog.accuracy.appraisal import LEAST_DEGREES, Appraisal, Observation
from meterlog.accuracy.budget import Budget, Uncertain
from meterlog.detect import Motion, Settled, Settlement
from meterlog.procedure.formulas import Formula, Input, computed, difference, quotient
from meterlog.quantity import Unit
from meterlog.reading import Coupling
from tests.trials.settling.kinds import KINDS, NEVER, draw
from tests.trials.settling.trial import Trial

SEEDS_FROM = 7000
"""Not those that the detector's constants were found on, nor those it is judged on."""

SETTLING = tuple(kind for kind in KINDS if kind not in NEVER)
FULL_SCALE, COUNT = 2.0, 1e-9


class Level(NamedTuple):
    """volts; settle: the tolerance of the step, part of it; so large stands the signal of each session."""

    volts: float
    settle: float


class Taken(NamedTuple):
    """A level as its detector gave it, and as it truly is, in V."""

    seen: Observation
    truth: float


Outcome = tuple[float, float, float]
"""Lower end of the interval, the truth, upper end."""


@dataclass(frozen=True)
class Mix:
    """gain, offset: half-widths of what the meter's maker allows, part of the reading and V; None: nobody
    described the meter. `formula`: of the second level and the first; None: the last level itself."""

    name: str
    levels: Sequence[Level]
    gain: float | None = None
    offset: float = 0.0
    formula: Formula | None = None
    because: str = ""

    def run(self, seed: int) -> bool | None:
        """One session: held or not; None if a level did not settle."""
        dice = Random(f"{self.name} {seed}")
        gain = dice.uniform(-1.0, 1.0) * (self.gain or 0.0)
        taken = []
        for place, level in enumerate(self.levels):
            kind = dice.choice(SETTLING) if place else SETTLING[seed % len(SETTLING)]
            trial = draw(kind, SEEDS_FROM + len(self.levels) * seed + place)
            found = _settled(trial, level, 1.0 + gain, dice.uniform(-1.0, 1.0) * self.offset)
            if found is None:
                return None
            taken.append(found)
        lower, truth, upper = self._interval(taken)
        return lower <= truth <= upper

    def _interval(self, taken: Sequence[Taken]) -> Outcome:
        appraisal = Appraisal({} if self.gain is None else {"output": self._meter(self.gain)})
        numbers = [appraisal.observed(one.seen) for one in taken]
        if self.formula is not None:
            return _of_two(self.formula, appraisal, taken, numbers)
        return _about(appraisal.budget(numbers[-1]), taken[-1].truth)

    def _meter(self, gain: float) -> InUse:
        rows = (Accuracy(reading=gain, of_range=self.offset / FULL_SCALE),)
        volts = Capability("voltage", Coupling.AC, (Range(FULL_SCALE, COUNT, FULL_SCALE),), accuracies=rows)
        return InUse("meter", Specification("A meter", 0.2, (volts,)), "voltage", Coupling.AC)


def _of_two(
    formula: Formula, appraisal: Appraisal, taken: Sequence[Taken], numbers: Sequence[Uncertain]
) -> Outcome:
    """As the ledger does it: a ratio by its ends, a difference by its uncertainty."""
    (first, second), (under, over) = taken, numbers
    result = computed(formula, Input(second.seen.value, Unit.VOLT), Input(first.seen.value, Unit.VOLT))
    assert result is not None
    value = result.settlement.value
    assert value is not None
    shares = zip((over, under), (share.sensitivity for share in result.shares), strict=True)
    budget = appraisal.budget(appraisal.computed(value, shares))
    truth = formula(second.truth, first.truth)[0]
    if formula is quotient:
        lower, upper = appraisal.ends(budget, over, under)
        return lower, truth, upper
    return _about(budget, truth)


def _about(budget: Budget, truth: float) -> Outcome:
    return budget.value - budget.expanded_uncertainty, truth, budget.value + budget.expanded_uncertainty


def _settled(trial: Trial, level: Level, gain: float, offset: float) -> Taken | None:
    """What the meter shows of the signal, drawn to the size of the level, until it settles, and where the
    signal then tends to."""
    task, middle = trial.task, trial.plateaus[0].level
    size = level.volts * level.settle / task.tolerance

    def sized(value: float) -> float:
        return level.volts + size * (value - middle)

    def tolerance(_: float) -> float:
        return size * task.tolerance

    detector = Settled(tolerance, task.dwell_s, horizon_s=task.horizon_s, lag_s=task.lag_s)
    for shown in trial.shown:
        value = None if shown.value is None else gain * sized(shown.value) + offset
        found = detector.update(
            shown.time_s, value, shown.state, resolution=size * shown.resolution, range_max=shown.range_max
        )
        truth = trial.tends_to(shown.time_s)
        if found.motion is Motion.SETTLED and truth is not None:
            return Taken(_seen(found), sized(truth))
    return None


def _seen(found: Settlement) -> Observation:
    assert found.value is not None
    assert found.standard_uncertainty is not None
    return Observation(
        "output", found.value, found.standard_uncertainty, found.degrees_of_freedom or LEAST_DEGREES
    )


ONE, LESS, HALF = (Level(10.0 ** (db / 20.0), 0.01) for db in (0.0, -1.0, -6.0))
FLOOR = Level(1e-3, 0.1)
MIXES = (
    Mix("level, meter good to half the tolerance", (ONE,), gain=0.0025, offset=0.0025),
    Mix("level, meter good to a tenth of it", (ONE,), gain=0.0005, offset=0.0005),
    Mix("level, meter not described", (ONE,)),
    Mix("level near the floor", (FLOOR,), gain=0.01, offset=4e-5),
    Mix("difference of two levels", (ONE, HALF), gain=0.01, offset=4e-4, formula=difference),
    Mix("gain of -1 dB", (ONE, LESS), gain=0.02, offset=3e-3, formula=quotient),
    Mix("gain of -1 dB, offset small", (ONE, LESS), gain=0.02, offset=3e-4, formula=quotient),
    Mix("gain into the floor", (ONE, FLOOR), gain=0.01, offset=4e-5, formula=quotient),
    Mix("signal over noise", (FLOOR, ONE), gain=0.01, offset=4e-5, formula=quotient),
)
