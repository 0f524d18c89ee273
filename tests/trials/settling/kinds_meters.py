"""Kinds of trial that differ by how the meter shows things."""

from dataclasses import replace
from random import Random

from tests.trials.settling.hand import Stop, levels_within, log_uniform, turning
from tests.trials.settling.meter import Meter, Range, Slow
from tests.trials.settling.scene import HOLD_S, Bench, Scene
from tests.trials.settling.stages import Stage, lag


def _plain(bench: Bench, meter: Meter) -> Scene:
    return bench.scene(bench.turning(), meter, _quick(bench.dice))


def _quick(dice: Random) -> Stage:
    return lag(log_uniform(dice, 0.02, 0.3))


def _counts(dice: Random, displays: tuple[int, ...]) -> Scene:
    """Noise below one count; the tolerance is a share of the level, but at least one count."""
    bench = Bench(dice)
    level = abs(bench.base)
    full = level / dice.uniform(0.2, 1.0)
    count = full / dice.choice(displays)
    tolerance = max(count * dice.uniform(1.0, 1.5), level * log_uniform(dice, 0.0005, 0.01))
    bench.task = replace(bench.task, tolerance=tolerance)
    low, high = (0.1 * full - level) / tolerance, (full - level) / tolerance
    wanted = levels_within(dice, dice.randint(2, 4), low, high)
    noise = dice.uniform(0.1, 0.9) * count / tolerance
    meter = replace(bench.meter(), white=noise, ranges=(Range(1.5 * full, count),))
    return bench.scene(turning(dice, wanted, HOLD_S, bench.task.dwell_s), meter, _quick(dice))


def low_count_display(dice: Random) -> Scene:
    return _counts(dice, (2_000, 6_000))


def high_count_display(dice: Random) -> Scene:
    return _counts(dice, (20_000, 50_000))


def autorange(dice: Random) -> Scene:
    """The levels lie on both sides of where the meter changes range; `base` is that limit."""
    bench = Bench(dice)
    counts, limit = dice.choice((20_000, 50_000)), abs(bench.base)
    tolerance = 10.0 * limit / counts * log_uniform(dice, 1.2, 20.0)
    bench.task = replace(bench.task, tolerance=tolerance)
    above = dice.random() < 0.5
    wanted = []
    for k in range(dice.randint(3, 5)):
        share = dice.uniform(0.03, 0.8) if above == bool(k % 2) else -dice.uniform(0.13, 0.6)
        wanted.append(share * limit / tolerance)
    ranges = Range(limit, limit / counts), Range(10.0 * limit, 10.0 * limit / counts)
    stops = turning(dice, wanted, HOLD_S, bench.task.dwell_s, 2.0)
    return bench.scene(stops, replace(bench.meter(), ranges=ranges), _quick(dice))


def overload_first(dice: Random) -> Scene:
    """Before every level the hand goes past full scale and stays there for a while."""
    bench = Bench(dice)
    stops, base, tolerance = bench.turning(), abs(bench.base), bench.task.tolerance
    full = max(abs(base + tolerance * stop.level) for stop in stops) + tolerance * log_uniform(
        dice, 2.0, 50.0
    )
    most_s = min(4.0, 2.5 * bench.task.dwell_s)
    beyond: list[Stop] = []
    shift_s = 0.0
    for stop in stops:
        if stop.rest_s >= HOLD_S[0]:
            begins_s, rest_s = stop.begins_s + shift_s, log_uniform(dice, 0.2, most_s)
            over = (full * dice.uniform(1.05, 1.5) - base) / tolerance
            beyond.append(Stop(begins_s, begins_s + rest_s, over))
            shift_s += rest_s + dice.uniform(0.4, 2.0)
        beyond.append(stop._replace(begins_s=stop.begins_s + shift_s, ends_s=stop.ends_s + shift_s))
    meter = replace(bench.meter(), ranges=(Range(full, bench.fine()),))
    return bench.scene(tuple(beyond), meter, _quick(dice))


def filter_told(dice: Random) -> Scene:
    """An AC meter averages; its profile says for how long."""
    bench, lag_s = Bench(dice), log_uniform(dice, 0.1, 1.0)
    bench.told(lag_s=lag_s)
    return bench.scene(bench.turning(lag_s), bench.meter(), _quick(dice), lag(lag_s))


def filter_untold(dice: Random) -> Scene:
    bench, lag_s = Bench(dice), log_uniform(dice, 0.1, 1.0)
    return bench.scene(bench.turning(lag_s), bench.meter(), _quick(dice), lag(lag_s))


def jitter_and_drops(dice: Random) -> Scene:
    """What came late in a bunch keeps its own time, so a method sees nothing of that."""
    bench = Bench(dice)
    return _plain(bench, replace(bench.meter(), jitter=0.2, dropped=dice.uniform(0.05, 0.15)))


def duplicates(dice: Random) -> Scene:
    bench = Bench(dice)
    return _plain(bench, replace(bench.meter(), twice=log_uniform(dice, 0.05, 1.0)))


def slow_meter(dice: Random) -> Scene:
    bench = Bench(dice)
    bench.told(period_s=dice.uniform(0.35, 0.45))
    return _plain(bench, bench.meter())


def fast_meter(dice: Random) -> Scene:
    """40 readings a second, whose noise is remembered from one to the next."""
    bench = Bench(dice)
    bench.told(period_s=dice.uniform(0.0225, 0.0275))
    slow = Slow(log_uniform(dice, 0.05, 0.5), dice.uniform(0.1, 0.3))
    return _plain(bench, replace(bench.meter((0.01, 0.1)), slow=(slow,)))


def polled_too_often(dice: Random) -> Scene:
    """The display takes a new value every second to fourth poll."""
    bench = Bench(dice)
    bench.told(period_s=dice.uniform(0.05, 0.15))
    return _plain(bench, replace(bench.meter(), updates=(2, 4)))


def asked_far_too_often(dice: Random) -> Scene:
    """Asked each 20 to 40 ms, it measures each 0.3 to 0.5 s; some trials have wild readings too."""
    bench = Bench(dice)
    asked_s = dice.uniform(0.02, 0.04)
    bench.told(period_s=asked_s)
    often = round(dice.uniform(0.3, 0.5) / asked_s)
    wild = dice.choice((0.0, 0.05))
    return _plain(bench, replace(bench.meter(), jitter=0.02, wild=wild, updates=(often - 1, often)))


BESIDE = (asked_far_too_often,)
KINDS = (
    low_count_display,
    high_count_display,
    autorange,
    overload_first,
    filter_told,
    filter_untold,
    jitter_and_drops,
    duplicates,
    slow_meter,
    fast_meter,
    polled_too_often,
)
