"""Draws that more than one part of a scene needs."""

import math
from random import Random


def log_uniform(random: Random, low: float, high: float) -> float:
    """Every factor equally likely: between 1 and 2 as often as between 5 and 10."""
    return math.exp(random.uniform(math.log(low), math.log(high)))


def decibels(random: Random) -> float:
    """How far to go: most often 1 dB, else a usual or any other step from 0.3 to 3 dB."""
    usual = random.choices((1.0, 0.5, 3.0, 0.0), (50, 10, 15, 25))[0]
    return usual or random.uniform(0.3, 3.0)
