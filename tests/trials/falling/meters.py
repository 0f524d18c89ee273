"""The meter: how often it shows what, how far its averaging lags behind, how fine its display is."""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from random import Random

from tests.trials.falling.draws import log_uniform

RATES_PER_S = (2.5, 5.0, 10.0, 40.0)
GRID_S = 0.01


@dataclass(frozen=True, slots=True)
class Meter:
    """`lag_s` is what the averaging really is, `told_s` what its profile says.

    filling    largest level of the trial as a part of full scale
    updates_s  the meter measures only so often, however often it is asked; 0.0 at every question
    jitter     readings come so much earlier or later, in parts of the period
    """

    period_s: float
    counts: float
    filling: float
    lag_s: float = 0.0
    told_s: float = 0.0
    updates_s: float = 0.0
    jitter: float = 0.0

    def times(self, random: Random, ends_s: float) -> Iterator[float]:
        phase_s = random.uniform(0.5, 1.0) * self.period_s
        for i in range(int((ends_s - phase_s) / self.period_s)):
            yield phase_s + (i + random.uniform(-self.jitter, self.jitter)) * self.period_s

    def taken_s(self, asked_s: float) -> float:
        if not self.updates_s:
            return asked_s
        return max(0.0, math.floor(asked_s / self.updates_s) * self.updates_s)


MakeMeter = Callable[[Random], Meter]


def plain(random: Random) -> Meter:
    """Half of the meters average, and say so."""
    lag_s = random.choice((0.0, log_uniform(random, 0.1, 0.6)))
    return Meter(
        period_s=1.0 / random.choice(RATES_PER_S),
        counts=log_uniform(random, 2000.0, 50000.0),
        filling=random.uniform(0.2, 0.95),
        lag_s=lag_s,
        told_s=lag_s,
    )


def lagging(random: Random) -> Meter:
    lag_s = random.uniform(0.1, 1.0)
    return replace(plain(random), lag_s=lag_s, told_s=lag_s)


def lag_untold(random: Random) -> Meter:
    return replace(plain(random), lag_s=random.uniform(0.1, 0.5), told_s=0.0)


def slow(random: Random) -> Meter:
    return replace(plain(random), period_s=0.4)


def fast(random: Random) -> Meter:
    return replace(plain(random), period_s=0.025)


def streaming(random: Random) -> Meter:
    """Sends by itself, through a buffer."""
    return replace(plain(random), period_s=1.0 / random.choice((10.0, 40.0)))


def coarse(random: Random) -> Meter:
    """Few counts between peak and target: at 1 dB about 10 to 40."""
    return replace(plain(random), counts=2000.0, filling=random.uniform(0.05, 0.2))


def over_asked(random: Random) -> Meter:
    """Asked more often than it measures: values come several times, each with its own time."""
    updates_s = random.choice((0.4, 0.2))
    return replace(plain(random), period_s=updates_s / random.uniform(1.6, 5.0), updates_s=updates_s)


def irregular(random: Random) -> Meter:
    return replace(plain(random), jitter=random.uniform(0.1, 0.3))


def filtered(level: Callable[[float], float], lag_s: float, until_s: float) -> Callable[[float], float]:
    """What a first-order averaging filter makes of the level, steady before time 0.

    Exact for a level that goes evenly between the points of the grid (first-order hold; textbook).
    """
    if not lag_s:
        return level
    keep = math.exp(-GRID_S / lag_s)
    before = level(0.0)
    seen = [before]
    for i in range(1, math.ceil(until_s / GRID_S) + 2):
        now = level(i * GRID_S)
        behind = lag_s * (now - before) / GRID_S  # where an even course would keep the filter behind
        seen.append(now - behind + keep * (seen[-1] - before + behind))
        before = now

    def response(t: float) -> float:
        i = min(int(t / GRID_S), len(seen) - 2)
        return seen[i] + (seen[i + 1] - seen[i]) * (t / GRID_S - i)

    return response
