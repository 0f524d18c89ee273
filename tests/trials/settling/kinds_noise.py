"""Kinds of trial that differ by what lies on top of the level."""

import math
from dataclasses import replace
from random import Random

from tests.trials.settling.hand import Pair, log_uniform
from tests.trials.settling.meter import Slow
from tests.trials.settling.scene import Bench, Scene
from tests.trials.settling.stages import beat, lag


def glitches(dice: Random) -> Scene:
    bench = Bench(dice)
    meter = replace(bench.meter(), wild=log_uniform(dice, 0.01, 0.05))
    return bench.scene(bench.turning(), meter, lag(log_uniform(dice, 0.02, 0.5)))


def flicker(dice: Random, sigma: Pair) -> tuple[Slow, ...]:
    """1/f noise from 0.005 to 1.6 Hz: equal parts with a memory, one per decade and a half-decade between.

    A sum of first-order processes spread evenly over the logarithm of time has a 1/f spectrum between
    their corner frequencies (van der Ziel, Physica 16, 359, 1950; from memory).
    """
    taus_s = [0.1 * math.sqrt(10.0) ** k for k in range(6)]
    each = log_uniform(dice, *sigma) / math.sqrt(len(taus_s))
    return tuple(Slow(each, tau_s) for tau_s in taus_s)


def flicker_noise(dice: Random) -> Scene:
    bench = Bench(dice)
    meter = replace(bench.meter(), slow=flicker(dice, (0.05, 0.35)))
    return bench.scene(bench.turning(), meter, lag(log_uniform(dice, 0.02, 0.3)))


def slow_beat(dice: Random) -> Scene:
    """Hum against the meter's clock. The level is the middle, from which the response never goes too far."""
    bench = Bench(dice)
    swing = beat(dice.uniform(0.1, 0.9), log_uniform(dice, 2.0, 20.0), dice.uniform(0.0, 2.0 * math.pi))
    return bench.scene(bench.turning(), bench.meter((0.02, 0.2)), lag(log_uniform(dice, 0.02, 0.3)), swing)


def noise_floor(dice: Random) -> Scene:
    bench = Bench(dice)
    return bench.scene(bench.turning(), bench.meter((0.3, 0.9)), lag(log_uniform(dice, 0.02, 0.3)))


KINDS = (glitches, flicker_noise, slow_beat, noise_floor)
