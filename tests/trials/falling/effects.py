"""What comes between the unit and the reading: noise, hum, wild readings, range changes.

Each effect takes the readings in order of time, before rounding to the display, and gives them back changed.
Sizes are in parts of N (the way from peak to target).
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from itertools import pairwise
from random import Random

from meterlog.reading import State
from tests.trials.falling.draws import log_uniform
from tests.trials.shown import Shown

Readings = list[Shown]


@dataclass(frozen=True, slots=True)
class Scene:
    """`gone` is the true way gone over time in parts of N; `volts` turns such a part into a level."""

    random: Random
    gone: Callable[[float], float]
    volts: Callable[[float], float]
    period_s: float

    @property
    def way(self) -> float:
        """In volts, with its sign."""
        return self.volts(1.0) - self.volts(0.0)


Effect = Callable[[Scene, Readings], Readings]


def _plus(shown: Shown, volts: float) -> Shown:
    return shown if shown.value is None else shown._replace(value=shown.value + volts)


def white(least: float, most: float) -> Effect:
    """Normal noise, every reading for itself; standard deviation from least to most."""

    def effect(scene: Scene, readings: Readings) -> Readings:
        sigma = log_uniform(scene.random, least, most) * abs(scene.way)
        return [_plus(shown, scene.random.gauss(0.0, sigma)) for shown in readings]

    return effect


def correlated(least: float, most: float) -> Effect:
    """Noise that remembers (first-order, correlation time 0.1 to 1.5 s)."""

    def effect(scene: Scene, readings: Readings) -> Readings:
        random = scene.random
        sigma, memory_s = log_uniform(random, least, most) * abs(scene.way), log_uniform(random, 0.1, 1.5)
        noise = [random.gauss(0.0, sigma)]
        for before, now in pairwise(readings):
            keep = math.exp((before.time_s - now.time_s) / memory_s)
            noise.append(keep * noise[-1] + math.sqrt(1.0 - keep * keep) * random.gauss(0.0, sigma))
        return [_plus(shown, n) for shown, n in zip(readings, noise, strict=True)]

    return effect


def hum(scene: Scene, readings: Readings) -> Readings:
    """A beat with the mains: 1 to 8 Hz, or folded down to a slow wave by the rate of the readings."""
    random = scene.random
    hertz = random.choice((random.uniform(1.0, 8.0), log_uniform(random, 0.1, 1.0)))
    size, phase = random.uniform(0.05, 0.2) * scene.way, random.uniform(0.0, math.tau)
    return [_plus(r, size * math.sin(math.tau * hertz * r.time_s + phase)) for r in readings]


def _wild(scene: Scene) -> float:
    """Beyond the target, above the peak, or nothing at all."""
    random = scene.random
    beyond, above = random.uniform(1.1, 5.0), -random.uniform(0.3, 4.0)
    return random.choices((scene.volts(beyond), scene.volts(above), 0.0), (50, 35, 15))[0]


def glitches(scene: Scene, readings: Readings) -> Readings:
    """One to four wild readings, each alone; at least one on the way to the target, if there is time."""
    random = scene.random
    on_the_way = [i for i, r in enumerate(readings) if 0.1 < scene.gone(r.time_s) < 0.95]
    wild = {random.choice(on_the_way)} if on_the_way else set()
    for i in random.sample(range(len(readings)), min(len(readings), random.randint(0, 3))):
        if not wild & {i - 2, i - 1, i + 1, i + 2}:
            wild.add(i)
    return [r._replace(value=_wild(scene)) if i in wild else r for i, r in enumerate(readings)]


def storm(scene: Scene, readings: Readings) -> Readings:
    """A bad contact: wild readings all the time, sometimes several on end."""
    share = scene.random.uniform(0.02, 0.08)
    return [r._replace(value=_wild(scene)) if scene.random.random() < share else r for r in readings]


def overloads(scene: Scene, readings: Readings) -> Readings:
    """Single readings without a number."""
    lost = set(scene.random.sample(range(len(readings)), min(len(readings), scene.random.randint(1, 4))))
    return [r._replace(value=None, state=State.OVERLOAD) if i in lost else r for i, r in enumerate(readings)]


def autorange(scene: Scene, readings: Readings) -> Readings:
    """On the way the meter is silent while it changes range; the first reading after that is odd."""
    random = scene.random
    limit = random.uniform(0.1, 0.9)
    first = next((i for i, r in enumerate(readings) if scene.gone(r.time_s) > limit), 0)
    until_s = readings[first].time_s + random.uniform(0.3, 1.2)
    factor = random.choice((0.1, 0.25, 4.0, 10.0))
    after = [_on_range(r, factor) for r in readings[first:] if r.time_s > until_s]
    if after and random.random() < 0.7:
        after[0] = after[0]._replace(value=_wild(scene))
    return readings[:first] + after


def _on_range(shown: Shown, factor: float) -> Shown:
    full = None if shown.range_max is None else shown.range_max * factor
    return shown._replace(range_max=full, resolution=shown.resolution * factor)
