"""Puts a trial together: hand, curve, meter, effects, and the truth about them."""

import math
from collections.abc import Callable
from dataclasses import dataclass
from random import Random

from tests.trials.falling import curves, meters, turns
from tests.trials.falling.draws import decibels, log_uniform
from tests.trials.falling.effects import Effect, Readings, Scene, white
from tests.trials.falling.trial import Task, Trial
from tests.trials.shown import Shown

STEP_S = 0.01
"""Between the looks for the first passing of the target."""


QUIET = white(0.005, 0.03)


@dataclass(frozen=True, slots=True)
class Recipe:
    """What a kind of trial is made of. Every scene has at least a little noise, before the effects."""

    turn: turns.MakeTurn = turns.any_passing
    curve: curves.MakeCurve = curves.any_curve
    meter: meters.MakeMeter = meters.plain
    effects: tuple[Effect, ...] = ()
    rises: float = 0.15  # share of trials that go up from a dip
    noise: Effect = QUIET


def build(kind: str, seed: int, recipe: Recipe) -> Trial:
    random = Random(f"{kind} {seed}")
    fall_db = decibels(random) * (-1.0 if random.random() < recipe.rises else 1.0)
    peak = log_uniform(random, 0.05, 20.0)
    target = peak * 10.0 ** (-fall_db / 20.0)
    turn = recipe.turn(random)
    gone = _gone(turn, recipe.curve(random, fall_db), random.uniform(-0.02, 0.03))
    reached_s = first_passing(gone, turn.done_s)
    ends_s = (turn.done_s if reached_s is None else reached_s) + random.uniform(2.0, 5.0)
    meter = recipe.meter(random)
    scene = Scene(random, gone, lambda part: peak + (target - peak) * part, meter.period_s)

    def level(t: float) -> float:
        return scene.volts(gone(t))

    readings = _sampled(meter, level, ends_s, random)
    for effect in (recipe.noise, *recipe.effects):
        readings = effect(scene, readings)
    task = Task(peak, target, period_s=meter.period_s, lag_s=meter.told_s)
    return Trial(kind, seed, task, tuple(map(_rounded, readings)), level, reached_s)


def _gone(turn: turns.Turn, curve: curves.Curve, offset: float) -> Callable[[float], float]:
    """The peak told is not quite where the level is now: off by a small part of the way."""
    return lambda t: offset + (1.0 - offset) * curve(turn.position(t))


def first_passing(gone: Callable[[float], float], until_s: float) -> float | None:
    """When the way gone first exceeds 1, between two looks by halving; None if it does not."""
    looks = (i * STEP_S for i in range(math.ceil(until_s / STEP_S) + 1))
    after = next((t for t in looks if gone(t) > 1.0), None)
    if after is None:
        return None
    before = after - STEP_S
    while after - before > 1e-6:
        middle = (before + after) / 2.0
        before, after = (before, middle) if gone(middle) > 1.0 else (middle, after)
    return after


def _sampled(meter: meters.Meter, level: Callable[[float], float], ends_s: float, random: Random) -> Readings:
    response = meters.filtered(level, meter.lag_s, ends_s)
    times = list(meter.times(random, ends_s))
    full = max(level(t) for t in (0.0, *times)) / meter.filling
    count = full / meter.counts
    return [Shown(t, response(meter.taken_s(t)), resolution=count, range_max=full) for t in times]


def _rounded(shown: Shown) -> Shown:
    if shown.value is None:
        return shown
    return shown._replace(value=round(shown.value / shown.resolution) * shown.resolution)
