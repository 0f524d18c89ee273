"""What the hand does: the position of the trimmer over time, 0 at the peak and 1 at the target.

Invented, after how trimmers are turned; the parameters are drawn wide.
"""

import math
from bisect import bisect_right
from collections.abc import Callable, Iterator
from itertools import pairwise
from random import Random
from typing import NamedTuple

from tests.trials.falling.draws import log_uniform


class Turn(NamedTuple):
    """`position` over time in s; from `done_s` on the hand rests."""

    position: Callable[[float], float]
    done_s: float


MakeTurn = Callable[[Random], Turn]


def begins(random: Random) -> float:
    """How long the trimmer is left at the peak."""
    return random.uniform(0.5, 3.0)


def through(knots: list[tuple[float, float]]) -> Turn:
    """Even turning from one (time, position) to the next."""
    times = [t for t, _ in knots]

    def position(t: float) -> float:
        i = bisect_right(times, t)
        if i in (0, len(knots)):
            return knots[max(0, i - 1)][1]
        (t0, x0), (t1, x1) = knots[i - 1], knots[i]
        return x0 + (x1 - x0) * (t - t0) / (t1 - t0)

    return Turn(position, times[-1])


def even(random: Random) -> Turn:
    """0.8 to 12 s for the way, and on past it."""
    return _straight(random, log_uniform(random, 0.8, 12.0), random.uniform(1.1, 2.5))


def quick(random: Random) -> Turn:
    """Past the target at once, then at rest well beyond it."""
    return _straight(random, log_uniform(random, 0.5, 1.2), random.uniform(1.3, 3.0))


def around(random: Random) -> Turn:
    """Stops close to the target, on either side of it."""
    return _straight(random, log_uniform(random, 0.8, 8.0), random.uniform(0.85, 1.25))


def stays_short(random: Random) -> Turn:
    """Goes most of the way and stays there."""
    return _straight(random, log_uniform(random, 0.8, 6.0), random.uniform(0.6, 0.74))


def _straight(random: Random, way_s: float, end: float) -> Turn:
    start_s = begins(random)
    return through([(start_s, 0.0), (start_s + way_s * end, end)])


def over_the_peak(random: Random) -> Turn:
    """Begins on the other flank (only for curves that have one), even turning over the peak."""
    start_s, way_s = begins(random), log_uniform(random, 0.8, 8.0)
    first, end = -random.uniform(0.1, 0.6), random.uniform(1.1, 2.5)
    return through([(start_s, first), (start_s + way_s * (end - first), end)])


def accelerating(random: Random) -> Turn:
    start_s, way_s = begins(random), log_uniform(random, 1.5, 8.0)
    power, end = random.uniform(1.5, 3.0), random.uniform(1.2, 3.0)
    done_s = start_s + way_s * end ** (1.0 / power)
    return Turn(lambda t: (max(0.0, min(t, done_s) - start_s) / way_s) ** power, done_s)


def slowing(random: Random) -> Turn:
    """Ever slower towards a point just beyond the target."""
    start_s, tau_s, end = begins(random), log_uniform(random, 0.5, 3.0), random.uniform(1.03, 1.4)
    return Turn(lambda t: -end * math.expm1(-max(0.0, t - start_s) / tau_s), start_s + 5.0 * tau_s)


def stepwise(random: Random) -> Turn:
    """Small turns with a look at the meter after each."""
    knots, end = [(begins(random), 0.0)], random.uniform(1.05, 2.0)
    while knots[-1][1] < end:
        t, x = knots[-1]
        turned_s, x = t + random.uniform(0.1, 0.5), x + random.uniform(0.1, 0.4)
        knots += [(turned_s, x), (turned_s + random.uniform(0.3, 1.5), x)]
    return through(knots)


def trembling(random: Random) -> Turn:
    """Physiological tremor lies at 8 to 12 Hz (from memory); the arm's own sway is slower and larger."""
    turn, start_s = even(random), begins(random)
    waves = [_wave(random, 0.01, 0.04, 6.0, 12.0), _wave(random, 0.02, 0.10, 0.7, 3.0)]

    def position(t: float) -> float:
        return turn.position(t) + (sum(wave(t) for wave in waves) if t > start_s else 0.0)

    return Turn(position, turn.done_s)


def _wave(random: Random, low: float, high: float, low_hz: float, high_hz: float) -> Callable[[float], float]:
    size, phase = random.uniform(low, high), random.uniform(0.0, math.tau)
    omega = math.tau * random.uniform(low_hz, high_hz)
    return lambda t: size * math.sin(omega * t + phase)


def hesitating(random: Random) -> Turn:
    """Turns at changing rates, sometimes a little back, until past the target."""
    knots, end = [(begins(random), 0.0)], random.uniform(1.1, 2.0)
    while knots[-1][1] < end:
        t, x = knots[-1]
        lasting_s = random.uniform(0.2, 1.5)
        knots.append((t + lasting_s, max(0.0, x + lasting_s * random.choice((-0.15, 0.0, 0.2, 0.5, 1.0)))))
    return through(knots)


def turns_back(random: Random) -> Turn:
    """Goes 0.5 to 0.85 of the way, perhaps rests, and goes back."""
    start_s, nearest = begins(random), random.uniform(0.5, 0.85)
    there_s = start_s + nearest * log_uniform(random, 0.8, 8.0)
    back_s = there_s + random.choice((0.05, random.uniform(0.1, 2.0)))
    knots = [(start_s, 0.0), (there_s, nearest), (back_s, nearest)]
    knots.append((back_s + nearest * log_uniform(random, 0.8, 6.0), random.uniform(0.0, 0.3)))
    return through(knots)


def back_and_forth(random: Random) -> Turn:
    """Several approaches, none of them further than 0.7."""
    knots = [(begins(random), 0.0)]
    for near, far in pairwise(_swings(random)):
        t = knots[-1][0] + abs(far - near) * log_uniform(random, 0.8, 4.0)
        knots += [(t, far), (t + random.uniform(0.1, 1.0), far)]
    return through(knots)


def _swings(random: Random) -> Iterator[float]:
    for _ in range(random.randint(2, 4)):
        yield random.uniform(0.0, 0.2)
        yield random.uniform(0.4, 0.7)


def still(random: Random) -> Turn:
    return Turn(lambda t: 0.0, random.uniform(4.0, 15.0))


def drifting(random: Random) -> Turn:
    """Nobody turns: the unit drifts by about a fifth of the way."""
    lasting_s, end = random.uniform(5.0, 15.0), random.uniform(0.1, 0.25)
    return through([(0.0, 0.0), (lasting_s, end)])


PASSING: tuple[MakeTurn, ...] = (even, even, accelerating, slowing, stepwise, hesitating, quick)
SHORT: tuple[MakeTurn, ...] = (turns_back, stays_short, back_and_forth, still, drifting)


def any_passing(random: Random) -> Turn:
    return random.choice(PASSING)(random)


def any_short(random: Random) -> Turn:
    return random.choice(SHORT)(random)
