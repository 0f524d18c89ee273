"""The same over all kinds of signal of the trial "settled": creeping, beating, glitches and still levels.

The first value that is called settled counts, right or wrong. Detector and budget are called as the engine
calls them, for the signals bring their own tolerances and horizons.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from meterlog.accuracy import Accuracy, Capability, InUse, Range, Specification
from meterlog.accuracy.appraisal import Appraisal, Observation
from meterlog.detect import Motion, Settled, Settlement
from meterlog.reading import Coupling
from tests.trials.settling.kinds import KINDS, NEVER, draw
from tests.trials.settling.trial import Trial

SEEDS_FROM = 7000
"""Not those that the detector's constants were found on, nor those it is judged on."""


@dataclass(frozen=True)
class Mix:
    """Each session has the next kind of signal. limit: the meter's, gain and offset together, in tolerances
    of the step; None: nobody described the meter."""

    name: str
    limit: float | None
    kinds: Sequence[str] = tuple(kind for kind in KINDS if kind not in NEVER)
    because: str = ""

    def run(self, seed: int) -> bool | None:
        trial = draw(self.kinds[seed % len(self.kinds)], SEEDS_FROM + seed)
        dice = Random(f"{self.name} {seed}")
        level = trial.plateaus[0].level
        half = 0.5 * (self.limit or 0.0) * trial.task.tolerance
        gain, offset = (dice.uniform(-half, half) for _ in range(2))
        found = _first_settled(trial, gain / level, offset)
        if found is None:
            return None
        settlement, truth = found
        meters = {} if self.limit is None else {"output": _meter(level, half)}
        return _holds(Appraisal(meters), settlement, truth)


def _first_settled(trial: Trial, gain: float, offset: float) -> tuple[Settlement, float] | None:
    """What the meter with these errors shows of the signal, until it settles, and the level it tends to."""
    task = trial.task
    detector = Settled(lambda _: task.tolerance, task.dwell_s, horizon_s=task.horizon_s, lag_s=task.lag_s)
    for shown in trial.shown:
        value = None if shown.value is None else shown.value * (1.0 + gain) + offset
        verdict = detector.update(
            shown.time_s, value, shown.state, resolution=shown.resolution, range_max=shown.range_max
        )
        truth = trial.tends_to(shown.time_s)
        if verdict.motion is Motion.SETTLED and truth is not None:
            return verdict, truth
    return None


def _holds(appraisal: Appraisal, settlement: Settlement, truth: float) -> bool:
    value, u = settlement.value, settlement.standard_uncertainty
    assert value is not None
    assert u is not None
    number = appraisal.observed(Observation("output", value, u, settlement.degrees_of_freedom or 1.0))
    return abs(value - truth) <= appraisal.budget(number).expanded_uncertainty


def _meter(level: float, half: float) -> InUse:
    full = 10.0 * abs(level)
    rows = (Accuracy(reading=half / abs(level), of_range=half / full),)
    volts = Capability("voltage", Coupling.AC, (Range(full, math.ulp(full), full),), accuracies=rows)
    return InUse("meter", Specification("A meter", 0.2, (volts,)), "voltage", Coupling.AC)


MIXES = (
    Mix("all kinds of signal, meter good to half the tolerance", 0.5),
    Mix("all kinds of signal, meter good to a tenth of it", 0.1),
    Mix("all kinds of signal, meter not described", None),
)
