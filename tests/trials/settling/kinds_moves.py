"""Kinds of trial that differ by what the unit and the hand do."""

from itertools import pairwise
from random import Random

from tests.trials.settling.hand import LEAST_TURN, Stop, halting, log_uniform
from tests.trials.settling.scene import HOLD_S, Bench, Scene
from tests.trials.settling.stages import creep, lag, log_creep, ring, two_speeds


def first_order(dice: Random) -> Scene:
    bench, tau_s = Bench(dice), log_uniform(dice, 0.05, 1.5)
    return bench.scene(bench.turning(2.0 * tau_s), bench.meter(), lag(tau_s))


def ringing(dice: Random) -> Scene:
    bench, decay_s = Bench(dice), log_uniform(dice, 0.2, 1.6)
    return bench.scene(bench.turning(2.0 * decay_s), bench.meter(), ring(dice.uniform(0.5, 3.0), decay_s))


def slow_ringing(dice: Random) -> Scene:
    """Down to a period of four dwells: a slower one stands still for a dwell where it turns."""
    bench, decay_s = Bench(dice), log_uniform(dice, 0.8, 4.0)
    bench.told(horizon_s=3.0 * decay_s)
    stops = bench.turning(3.0 * decay_s, (3.0, 60.0))
    slowest_hz = 1.0 / (4.0 * bench.task.dwell_s)
    return bench.scene(stops, bench.meter(), ring(log_uniform(dice, slowest_hz, 0.6), decay_s))


def warm_up(dice: Random) -> Scene:
    """The horizon suits the slow time constant, as the step's author sets it."""
    bench, slow_s = Bench(dice), log_uniform(dice, 3.0, 15.0)
    bench.told(horizon_s=slow_s * dice.uniform(3.0, 4.0))
    sizes = (10.0, 200.0)
    tail = log_uniform(dice, 1.0, 12.0)
    stops = bench.turning(slow_s * dice.uniform(1.0, 2.5), sizes)
    share = min(0.8, tail / max(abs(b.level - a.level) for a, b in pairwise(stops)))
    return bench.scene(stops, bench.meter(), two_speeds(dice.uniform(0.3, 1.0), slow_s, share))


def halting_hand(dice: Random) -> Scene:
    bench = Bench(dice)
    stops = halting(dice, bench.levels((15.0, 300.0)), HOLD_S, bench.task.dwell_s)
    return bench.scene(stops, bench.meter(), lag(log_uniform(dice, 0.02, 0.2)))


def small_steps(dice: Random) -> Scene:
    """The last corrections: hardly more than the tolerance."""
    bench = Bench(dice)
    return bench.scene(bench.turning(sizes=(2.2, 6.0)), bench.meter(), lag(log_uniform(dice, 0.02, 0.8)))


def creeping_contact(dice: Random) -> Scene:
    """One hold gives way in its middle, by itself, to a level that the later ones share."""
    bench, tau_s = Bench(dice), dice.uniform(2.0, 6.0)
    bench.told(horizon_s=tau_s * dice.uniform(2.0, 3.0))
    size = dice.choice((-1.0, 1.0)) * dice.uniform(LEAST_TURN, 5.0)
    stops = bench.turning(dice.uniform(1.0, 2.0) * tau_s)
    at = dice.choice([k for k, stop in enumerate(stops) if stop.rest_s >= HOLD_S[0]])
    gives_s = stops[at].begins_s + stops[at].rest_s * dice.uniform(0.25, 0.5)
    stages = lag(log_uniform(dice, 0.02, 0.3)), creep(gives_s, size, tau_s)
    return bench.scene(stops, bench.meter(), *stages, goals=_split(stops, at, gives_s, size))


def _split(stops: tuple[Stop, ...], at: int, gives_s: float, size: float) -> tuple[Stop, ...]:
    """A stop ends where its contact gives way; the level `size` on begins there."""
    stop = stops[at]
    moved = [s._replace(level=s.level + size) for s in stops[at + 1 :]]
    rest = Stop(gives_s, stop.ends_s, stop.level + size)
    return (*stops[:at], stop._replace(ends_s=gives_s), rest, *moved)


def logarithmic_creep(dice: Random) -> Scene:
    """The last hold creeps ever more slowly; its level is the one reached at the end."""
    bench = Bench(dice)
    size = dice.choice((-1.0, 1.0)) * dice.uniform(1.0, 3.0)
    *stops, last = bench.turning(dice.uniform(2.0, 8.0))
    bench.told(horizon_s=last.rest_s)
    stages = (
        lag(log_uniform(dice, 0.02, 0.3)),
        log_creep(last.begins_s, last.ends_s, size, log_uniform(dice, 0.1, 1.0)),
    )
    goals = (*stops, last._replace(level=last.level + size))
    return bench.scene((*stops, last), bench.meter(), *stages, goals=goals)


KINDS = (
    first_order,
    ringing,
    slow_ringing,
    warm_up,
    halting_hand,
    small_steps,
    creeping_contact,
    logarithmic_creep,
)
