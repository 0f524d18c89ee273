"""Kinds of trial in which several things come at once, all drawn wide."""

import math
from dataclasses import replace
from random import Random

from tests.trials.settling.hand import halting, log_uniform
from tests.trials.settling.kinds_noise import flicker
from tests.trials.settling.meter import Meter, Range
from tests.trials.settling.scene import HOLD_S, Bench, Scene
from tests.trials.settling.stages import Stage, beat, lag, ring, two_speeds


def _follows(bench: Bench) -> tuple[Stage, float]:
    """How the unit follows the hand, and how long a person waits for it."""
    dice = bench.dice
    tau_s = log_uniform(dice, 0.1, 1.5)
    way = dice.choice(("tail", "ring", "two"))
    if way == "tail":
        return lag(tau_s), 2.0 * tau_s
    if way == "ring":
        return ring(log_uniform(dice, 0.3, 3.0), tau_s), 2.0 * tau_s
    slow_s = dice.uniform(2.0, 6.0)
    bench.told(horizon_s=3.0 * slow_s)
    return two_speeds(0.3 * tau_s, slow_s, dice.uniform(0.01, 0.1)), 2.0 * slow_s


def _troubled(bench: Bench, likely: float) -> Meter:
    """Each trouble of a meter comes with the same likelihood."""
    dice, meter = bench.dice, bench.meter((0.05, 0.6))
    if dice.random() < likely:
        meter = replace(meter, jitter=0.2, dropped=dice.uniform(0.02, 0.1))
    if dice.random() < likely:
        meter = replace(meter, wild=log_uniform(dice, 0.005, 0.04))
    if dice.random() < likely:
        meter = replace(meter, twice=log_uniform(dice, 0.02, 0.5))
    if dice.random() < likely:
        meter = replace(meter, slow=flicker(dice, (0.05, 0.3)))
    if dice.random() < likely:
        meter = replace(meter, ranges=(Range(math.inf, bench.task.tolerance * log_uniform(dice, 0.1, 0.9)),))
    return meter


def everyday(dice: Random) -> Scene:
    """A tail or a ring, and a trouble or two."""
    bench = Bench(dice)
    stage, wait_s = _follows(bench)
    return bench.scene(bench.turning(wait_s), _troubled(bench, 0.35), stage)


def bad_day(dice: Random) -> Scene:
    """Most troubles at once, with a slow beat."""
    bench = Bench(dice)
    bench.told(period_s=log_uniform(dice, 0.04, 0.4))
    stage, wait_s = _follows(bench)
    swing = beat(dice.uniform(0.05, 0.3), log_uniform(dice, 2.0, 20.0), dice.uniform(0.0, 2.0 * math.pi))
    return bench.scene(bench.turning(wait_s), _troubled(bench, 0.6), stage, swing)


def averaging_and_halting(dice: Random) -> Scene:
    """A hand that rests on its way, seen through a filter that is told or not."""
    bench, lag_s = Bench(dice), log_uniform(dice, 0.1, 0.7)
    if dice.random() < 0.5:
        bench.told(lag_s=lag_s)
    stops = halting(dice, bench.levels((6.0, 200.0)), HOLD_S, bench.task.dwell_s)
    return bench.scene(stops, _troubled(bench, 0.3), lag(log_uniform(dice, 0.02, 0.5)), lag(lag_s))


KINDS = (everyday, bad_day, averaging_and_halting)
