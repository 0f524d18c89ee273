"""Kinds of trial that never settle, each with the reason."""

import math
from dataclasses import replace
from random import Random

from meterlog.detect import Reason
from tests.trials.settling.hand import Stop, log_uniform
from tests.trials.settling.meter import Range, Slow
from tests.trials.settling.scene import Bench, Scene
from tests.trials.settling.stages import added, beat, lag


def _alone(dice: Random) -> tuple[Stop, ...]:
    """No hand: one level, on which something else moves."""
    return (Stop(0.0, dice.uniform(20.0, 40.0), 0.0),)


def ramp(dice: Random) -> Scene:
    """No slower than would refute a claim: 0.6 tolerances per dwell leave the tolerance in the next dwell."""
    bench = Bench(dice)
    per_s = dice.choice((-1.0, 1.0)) * log_uniform(dice, 0.6, 6.0) / bench.task.dwell_s
    return bench.scene(_alone(dice), bench.meter(), added(lambda t: per_s * t), reason=Reason.DRIFTING)


def hunting(dice: Random) -> Scene:
    """Up to a period of four dwells: a slower one stands still for a dwell where it turns."""
    bench = Bench(dice)
    period_s = log_uniform(dice, 1.5, 4.0 * bench.task.dwell_s)
    swing = beat(log_uniform(dice, 1.2, 6.0), period_s, dice.uniform(0.0, 2.0 * math.pi))
    return bench.scene(_alone(dice), bench.meter(), swing, reason=Reason.OSCILLATING)


def too_noisy(dice: Random) -> Scene:
    """Part of the noise is remembered for seconds, so that no averaging helps within the horizon."""
    bench = Bench(dice)
    slow = Slow(dice.uniform(1.5, 2.5), dice.uniform(1.0, 3.0))
    meter = replace(bench.meter(), white=log_uniform(dice, 2.0, 6.0), slow=(slow,))
    return bench.scene(_alone(dice), meter, reason=Reason.NOISY)


def overload(dice: Random) -> Scene:
    bench = Bench(dice)
    full = abs(bench.base) * dice.uniform(0.2, 0.9)
    meter = replace(bench.meter(), ranges=(Range(full, bench.fine()),))
    return bench.scene(_alone(dice), meter, reason=Reason.OVERLOAD)


def held_display(dice: Random) -> Scene:
    """On HOLD the number is none of now; the bench passes it on without a value. The hand turns meanwhile."""
    bench = Bench(dice)
    meter = replace(bench.meter(), held_s=0.0)
    return bench.scene(bench.turning(), meter, lag(0.1), reason=Reason.HELD)


def few_counts(dice: Random) -> Scene:
    """The tolerance is less than half a count: the display cannot tell."""
    bench = Bench(dice)
    count = bench.task.tolerance * log_uniform(dice, 2.2, 20.0)
    meter = replace(bench.meter(), ranges=(Range(math.inf, count),))
    return bench.scene(_alone(dice), meter, reason=Reason.FEW_COUNTS)


KINDS = (ramp, hunting, too_noisy, overload, held_display, few_counts)
