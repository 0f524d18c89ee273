"""A hand at a trimmer: where it stands over time. Levels are in tolerances about the trial's base level."""

import math
from collections.abc import Callable, Sequence
from itertools import pairwise
from random import Random
from typing import NamedTuple

GRID_S = 0.01
"""Step of every sampled course. The fastest meter here reads every 25 ms."""

LEAST_TURN = 2.2
"""Tolerances. Less is not told from standing still: one value would be right before and after."""

LEAST_SPEED = 3.0
"""Tolerances per dwell, on average over a turn."""

Pair = tuple[float, float]
LevelAt = Callable[[float], float]


class Stop(NamedTuple):
    """The hand stands still; a turning point passed without a rest ends when it begins."""

    begins_s: float
    ends_s: float
    level: float

    @property
    def rest_s(self) -> float:
        return self.ends_s - self.begins_s


def log_uniform(dice: Random, low: float, high: float) -> float:
    return math.exp(dice.uniform(math.log(low), math.log(high)))


def levels(dice: Random, count: int, sizes: Pair) -> list[float]:
    """Levels one after another, each so many tolerances from the one before, up or down."""
    found = [0.0]
    for _ in range(count):
        found.append(found[-1] + dice.choice((-1.0, 1.0)) * log_uniform(dice, *sizes))
    return found


def levels_within(dice: Random, count: int, low: float, high: float) -> list[float]:
    """Levels one after another, from 0 on, anywhere between two limits but none too near to the last."""
    found = [0.0]
    while len(found) <= count:
        level = dice.uniform(low, high)
        if abs(level - found[-1]) >= LEAST_TURN:
            found.append(level)
    return found


def turning(
    dice: Random, wanted: Sequence[float], hold_s: Pair, dwell_s: float, extra_s: float = 0.0
) -> tuple[Stop, ...]:
    """From the first level to the others, straight there or past it and back; each is left for `hold_s`.

    extra_s  added to every hold: what the person waits longer for a signal known to be slow
    """
    stops = [Stop(0.0, dice.uniform(0.1, 1.0), wanted[0])]
    for before, level in pairwise(wanted):
        for past in dice.choice(((), (), (1,), (1, -1))):
            over = past * dice.uniform(0.03, 0.4) * (level - before)
            if abs(over) >= LEAST_TURN:
                stops.append(_after(stops[-1], level + over, dice.uniform(0.3, 1.5), 0.0, dwell_s))
        rest_s = dice.uniform(*hold_s) + extra_s
        stops.append(_after(stops[-1], level, dice.uniform(0.4, 3.0), rest_s, dwell_s))
    return tuple(stops)


def halting(dice: Random, wanted: Sequence[float], hold_s: Pair, dwell_s: float) -> tuple[Stop, ...]:
    """With rests on the way that are mostly shorter than the dwell, now and then longer."""
    stops = [Stop(0.0, dice.uniform(0.1, 1.0), wanted[0])]
    for before, level in pairwise(wanted):
        for share in sorted(dice.uniform(0.15, 0.85) for _ in range(dice.randint(1, 4))):
            long = dice.random() < 0.2
            rest_s = dwell_s * (dice.uniform(1.2, 4.5) if long else dice.uniform(0.2, 0.8))
            halt = before + share * (level - before)
            if min(abs(halt - level), abs(halt - stops[-1].level)) >= LEAST_TURN:
                stops.append(_after(stops[-1], halt, dice.uniform(0.3, 1.5), rest_s, dwell_s))
        rest_s = dice.uniform(*hold_s)
        stops.append(_after(stops[-1], level, dice.uniform(0.3, 1.5), rest_s, dwell_s))
    return tuple(stops)


def _after(stop: Stop, level: float, turn_s: float, rest_s: float, dwell_s: float) -> Stop:
    """A turn from one stop to the next, in less time if the hand would creep: that is no turn but a drift."""
    begins_s = stop.ends_s + min(turn_s, max(0.1, abs(level - stop.level) * dwell_s / LEAST_SPEED))
    return Stop(begins_s, begins_s + rest_s, level)


def course(stops: Sequence[Stop]) -> list[float]:
    """The hand's level every `GRID_S`, with soft starts and stops (a cubic between rests)."""
    found: list[float] = []
    for stop, after in zip(stops, [*stops[1:], None], strict=True):
        _until(found, stop.ends_s, _constant(stop.level))
        if after:
            _until(found, after.begins_s, _cubic(stop, after))
    return found


def _until(found: list[float], end_s: float, level_at: LevelAt) -> None:
    found.extend(level_at(k * GRID_S) for k in range(len(found), math.floor(end_s / GRID_S) + 1))


def _constant(level: float) -> LevelAt:
    return lambda _: level


def _cubic(start: Stop, end: Stop) -> LevelAt:
    span_s = end.begins_s - start.ends_s

    def level_at(t: float) -> float:
        part = (t - start.ends_s) / span_s
        return start.level + (end.level - start.level) * part * part * (3.0 - 2.0 * part)

    return level_at
