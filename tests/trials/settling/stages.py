"""What lies between the hand and the display: stages through which a sampled course goes.

A stage takes the level every `GRID_S` and gives what comes out of it, all in tolerances. All are exact for
an input that keeps its value between grid points.
"""

import cmath
import math
from collections.abc import Callable, Sequence

from tests.trials.settling.hand import GRID_S

Stage = Callable[[list[float]], list[float]]


def lag(tau_s: float) -> Stage:
    """First order, unity gain: a capacitor, an averaging filter."""
    part = 1.0 - math.exp(-GRID_S / tau_s)

    def through(course: list[float]) -> list[float]:
        level, out = course[0], []
        for x in course:
            level += part * (x - level)
            out.append(level)
        return out

    return through


def ring(hertz: float, decay_s: float) -> Stage:
    """Second order, underdamped, unity gain: the real part of one complex pole, -1/decay + i 2 pi f."""
    pole = complex(-1.0 / decay_s, 2.0 * math.pi * hertz)
    step = cmath.exp(pole * GRID_S)
    weight = 1.0 + 1j * pole.real / pole.imag  # makes the step response start without a slope

    def through(course: list[float]) -> list[float]:
        transient, before, out = 0j, course[0], []
        for x in course:
            transient = transient * step + weight * (before - x)
            before = x
            out.append(x + transient.real)
        return out

    return through


def two_speeds(fast_s: float, slow_s: float, slow_share: float) -> Stage:
    """Warming up: most of a change comes soon, a share of it late."""
    fast, slow = lag(fast_s), lag(slow_s)

    def through(course: list[float]) -> list[float]:
        return [
            (1.0 - slow_share) * a + slow_share * b for a, b in zip(fast(course), slow(course), strict=True)
        ]

    return through


def added(amount: Callable[[float], float]) -> Stage:
    """Something that comes on top, as a function of time in s."""

    def through(course: list[float]) -> list[float]:
        return [x + amount(k * GRID_S) for k, x in enumerate(course)]

    return through


def beat(amplitude: float, period_s: float, phase: float) -> Stage:
    return added(lambda t: amplitude * math.sin(2.0 * math.pi * t / period_s + phase))


def creep(starts_s: float, size: float, tau_s: float) -> Stage:
    """A contact that gives way: an exponential step."""
    return added(lambda t: size * -math.expm1(-max(0.0, t - starts_s) / tau_s))


def log_creep(starts_s: float, ends_s: float, size: float, unit_s: float) -> Stage:
    """Creep as the logarithm of time, which reaches `size` at `ends_s` and stays there."""
    whole = math.log1p((ends_s - starts_s) / unit_s)
    return added(lambda t: size * math.log1p(max(0.0, min(t, ends_s) - starts_s) / unit_s) / whole)


def through(course: list[float], stages: Sequence[Stage]) -> list[float]:
    for stage in stages:
        course = stage(course)
    return course
