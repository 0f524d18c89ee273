"""What the unit makes of the trimmer's position: the way gone from the peak, in parts of N."""

import math
from collections.abc import Callable
from random import Random

Curve = Callable[[float], float]
"""Position (1 at the target) to way gone (1 at the target)."""

MakeCurve = Callable[[Random, float], Curve]
"""From N in dB, negative for a rise out of a dip."""


def _gone(ratio: Callable[[float], float], fall_db: float) -> Curve:
    """From a curve of level over position, 1.0 at the peak; a dip is the same curve turned over."""
    sign = math.copysign(1.0, fall_db)
    depth = 1.0 - ratio(1.0) ** sign
    return lambda x: (1.0 - ratio(x) ** sign) / depth


def in_volts(random: Random, fall_db: float) -> Curve:
    """Level goes evenly with the position."""
    return lambda x: x


def in_decibels(random: Random, fall_db: float) -> Curve:
    """Level in dB goes evenly with the position."""
    return _gone(lambda x: 10.0 ** (-abs(fall_db) * x / 20.0), fall_db)


def resonance(random: Random, fall_db: float) -> Curve:
    """Single tuned circuit: 1 / sqrt(1 + x^2), x the detuning; textbook."""
    square = 10.0 ** (abs(fall_db) / 10.0) - 1.0
    return _gone(lambda x: 1.0 / math.sqrt(1.0 + square * x * x), fall_db)


def bell(random: Random, fall_db: float) -> Curve:
    """Gaussian flank: what several tuned circuits together come near to; textbook."""
    exponent = math.log(10.0) * abs(fall_db) / 20.0
    return _gone(lambda x: math.exp(-exponent * x * x), fall_db)


def flank(random: Random, fall_db: float) -> Curve:
    return random.choice((resonance, bell))(random, fall_db)


def any_curve(random: Random, fall_db: float) -> Curve:
    return random.choice((in_volts, in_decibels, resonance, bell))(random, fall_db)
