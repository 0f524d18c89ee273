"""A meter: what it shows of a response, and when. Noise and wild readings are in tolerances."""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from random import Random
from typing import NamedTuple

from meterlog.reading import State
from tests.trials.settling.hand import Pair, log_uniform
from tests.trials.shown import Shown


class Slow(NamedTuple):
    """A part of the noise with a memory: first-order autoregressive."""

    sigma: float
    tau_s: float


@dataclass(frozen=True, slots=True)
class Range:
    """Full scale and one count, both in the base unit."""

    full: float
    count: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Meter:
    """period_s    usual interval between readings
    jitter      of the interval, as a share of it, either way
    dropped     share of readings that get lost
    white       standard deviation of the noise, new in every reading
    slow        noise with a memory
    ranges      the most sensitive first; up by itself at full scale, down below 0.9 of that
    gap_s       silence while it changes range
    wild        share of wild readings, and how far off they are
    twice       share of packets that come twice, and of those repeated some ms later
    updates     polls per update of the display, drawn anew for each
    held_s      the display is on HOLD from then on
    """

    period_s: float
    jitter: float = 0.02
    dropped: float = 0.0
    white: float = 0.1
    slow: tuple[Slow, ...] = ()
    ranges: tuple[Range, ...] = ()
    gap_s: Pair = (0.5, 2.0)
    wild: float = 0.0
    wild_size: Pair = (3.0, 100.0)
    twice: float = 0.0
    updates: tuple[int, int] = (1, 1)
    held_s: float = math.inf


def readings(
    dice: Random, meter: Meter, response: Callable[[float], float], tolerance: float, end_s: float
) -> tuple[Shown, ...]:
    """All that the meter sends until `end_s`."""
    display = _Display(dice, meter, tolerance)
    found: list[Shown] = []
    for t in _polls(dice, meter, end_s):
        shown = display.show(t, response)
        if shown is not None and dice.random() >= meter.dropped:
            found += _packets(dice, meter, shown)
    return tuple(found)


def _polls(dice: Random, meter: Meter, end_s: float) -> Iterator[float]:
    t = dice.uniform(0.0, meter.period_s)
    while t < end_s:
        yield t
        t += meter.period_s * (1.0 + dice.uniform(-meter.jitter, meter.jitter))


def _packets(dice: Random, meter: Meter, shown: Shown) -> Sequence[Shown]:
    if dice.random() >= meter.twice:
        return (shown,)
    late_s = dice.choice((0.0, dice.uniform(0.001, 0.008)))
    return (shown, shown._replace(time_s=shown.time_s + late_s))


@dataclass(slots=True)
class _Noise:
    dice: Random
    white: float
    slow: Sequence[Slow]
    parts: list[float] = field(default_factory=list)
    last_s: float | None = None

    def at(self, time_s: float) -> float:
        if self.last_s is None:
            self.parts = [self.dice.gauss(0.0, part.sigma) for part in self.slow]
        else:
            passed_s = time_s - self.last_s
            self.parts = [
                self._next(x, part, passed_s) for x, part in zip(self.parts, self.slow, strict=True)
            ]
        self.last_s = time_s
        return self.dice.gauss(0.0, self.white) + sum(self.parts)

    def _next(self, x: float, part: Slow, passed_s: float) -> float:
        kept = math.exp(-passed_s / part.tau_s)
        return kept * x + self.dice.gauss(0.0, part.sigma * math.sqrt(1.0 - kept * kept))


class _Display:
    """Range, rounding and the wild ones; None while nothing is sent."""

    def __init__(self, dice: Random, meter: Meter, tolerance: float) -> None:
        self._dice, self._meter, self._tolerance = dice, meter, tolerance
        self._noise = _Noise(dice, meter.white, meter.slow)
        self._range: int | None = None
        self._silent_until_s = -math.inf
        self._odd = False
        self._left = 0
        self._last: Shown | None = None

    def show(self, time_s: float, response: Callable[[float], float]) -> Shown | None:
        if time_s < self._silent_until_s:
            return None
        if self._left > 0 and self._last is not None:
            self._left -= 1
            return self._last._replace(time_s=time_s)
        self._left = self._dice.randint(*self._meter.updates) - 1
        self._last = self._fresh(time_s, response(time_s))
        return self._last

    def _fresh(self, time_s: float, level: float) -> Shown | None:
        value = level + self._tolerance * self._noise.at(time_s)
        now = self._chosen(value)
        if now != self._range:
            changes = self._range is not None
            self._range, self._odd = now, changes
            if changes:
                self._silent_until_s = time_s + self._dice.uniform(*self._meter.gap_s)
                return None
        full, count = self._meter.ranges[now].full, self._meter.ranges[now].count
        if time_s >= self._meter.held_s:
            return Shown(time_s, None, State.INVALID, count, full)
        if abs(value) > full:
            return Shown(time_s, None, State.OVERLOAD, count, full)
        return Shown(time_s, round(self._disturbed(value) / count) * count, State.OK, count, full)

    def _chosen(self, value: float) -> int:
        ranges, now = self._meter.ranges, self._range or 0
        while now < len(ranges) - 1 and abs(value) > ranges[now].full:
            now += 1
        while now > 0 and abs(value) < 0.9 * ranges[now - 1].full:
            now -= 1
        return now

    def _disturbed(self, value: float) -> float:
        if self._odd:
            self._odd = False
            return value * self._dice.uniform(0.2, 1.2)
        if self._dice.random() < self._meter.wild:
            far = self._dice.choice((-1.0, 1.0)) * log_uniform(self._dice, *self._meter.wild_size)
            return value + far * self._tolerance
        return value
