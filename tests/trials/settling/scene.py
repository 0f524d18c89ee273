"""A scene: everything drawn for one trial. `play` makes the trial of it."""

import math
from array import array
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from random import Random

from meterlog.detect import Reason
from tests.trials.settling.hand import Pair, Stop, course, levels, log_uniform, turning
from tests.trials.settling.meter import Meter, Range, readings
from tests.trials.settling.stages import Stage, through
from tests.trials.settling.trial import Task, Trial
from tests.trials.settling.truth import Response, Truth

HOLD_S = (6.0, 16.0)
SIZES = (3.0, 300.0)
USUAL_PERIOD_S = (0.08, 0.4)
USUAL_NOISE = (0.02, 0.5)


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """`base` is the first level in the base unit; stops, stages and noise are in tolerances about it.

    stops   of the hand
    goals   where the response goes: the same, unless something moves by itself
    """

    task: Task
    base: float
    stops: tuple[Stop, ...]
    goals: tuple[Stop, ...]
    meter: Meter
    stages: tuple[Stage, ...] = ()
    reason: Reason | None = None


@dataclass(slots=True)
class Bench:
    """What every kind draws first."""

    dice: Random
    base: float = field(init=False)
    task: Task = field(init=False)

    def __post_init__(self) -> None:
        dice = self.dice
        self.base = log_uniform(dice, 0.05, 500.0)
        if dice.random() < 0.25:
            self.base = -min(self.base, 5.0)
        tolerance = abs(self.base) * log_uniform(dice, 0.0005, 0.01)
        if dice.random() < 0.2:
            tolerance = log_uniform(dice, 0.001, 1.0)
        self.task = Task(tolerance, dice.uniform(0.8, 2.5), log_uniform(dice, *USUAL_PERIOD_S))

    def told(
        self, *, period_s: float | None = None, horizon_s: float | None = None, lag_s: float | None = None
    ) -> None:
        """Change what the method is told."""
        if period_s is not None:
            self.task = replace(self.task, period_s=period_s)
        if horizon_s is not None:
            self.task = replace(self.task, horizon_s=max(5.0, horizon_s))
        if lag_s is not None:
            self.task = replace(self.task, lag_s=lag_s)

    def levels(self, sizes: Pair = SIZES) -> list[float]:
        return levels(self.dice, self.dice.randint(2, 4), sizes)

    def turning(self, extra_s: float = 0.0, sizes: Pair = SIZES) -> tuple[Stop, ...]:
        return turning(self.dice, self.levels(sizes), HOLD_S, self.task.dwell_s, extra_s)

    def meter(self, white: Pair = USUAL_NOISE) -> Meter:
        """A good one: small counts, little jitter."""
        jitter = self.dice.uniform(0.0, 0.05)
        noise = log_uniform(self.dice, *white)
        return Meter(period_s=self.task.period_s, jitter=jitter, white=noise)

    def fine(self) -> float:
        """A count much smaller than the tolerance."""
        return self.task.tolerance * log_uniform(self.dice, 0.005, 0.3)

    def scene(
        self,
        stops: tuple[Stop, ...],
        meter: Meter,
        *stages: Stage,
        goals: tuple[Stop, ...] = (),
        reason: Reason | None = None,
    ) -> Scene:
        if not meter.ranges:
            meter = replace(meter, ranges=(Range(math.inf, self.fine()),))
        return Scene(
            task=self.task,
            base=self.base,
            stops=stops,
            goals=goals or stops,
            meter=meter,
            stages=stages,
            reason=reason,
        )


def play(kind: str, seed: int, scene: Scene, dice: Random) -> Trial:
    task, base, end_s = scene.task, scene.base, scene.stops[-1].ends_s
    scale = math.copysign(task.tolerance, base)
    reached = through(course(scene.stops), scene.stages)
    response = Response(array("d", (base + scale * x for x in reached)))
    meter = _with_full_scale(scene.meter, response.values)
    shown = readings(dice, meter, response, task.tolerance, end_s)
    if scene.reason is not None:
        return Trial(kind, seed, task, shown, response, reason=scene.reason)
    truth = Truth(scene.goals, reached, task.dwell_s)
    assert all(a.ends_s <= b.begins_s for a, b in pairwise(scene.goals))
    plateaus, tends_to = truth.plateaus(base, scale), truth.tends_to(base, scale)
    return Trial(kind, seed, task, shown, response, plateaus, tends_to=tends_to)


def _with_full_scale(meter: Meter, values: Sequence[float]) -> Meter:
    """A range that was left open ends at the next power of ten with room above all values."""
    if math.isfinite(meter.ranges[-1].full):
        return meter
    most = 2.0 * max(abs(value) for value in values)
    full = 10.0 ** math.ceil(math.log10(most))
    return replace(meter, ranges=(*meter.ranges[:-1], replace(meter.ranges[-1], full=full)))
