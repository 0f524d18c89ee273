"""Noise that need not be told from a moving level."""

import math

from tests.trials.settling.trial import Task

LEAST = 1e-6
"""Share of the tolerance; keeps ratios defined on a display that stands still."""


class Floor:
    """Variance of imaginary independent noise, added to the readings' own before a test of significance.

    At least that of rounding to counts. It keeps a test from calling significant what is far below the
    tolerance: a quiet meter would otherwise never count as steady.
    """

    def __init__(self, task: Task, ignore: float) -> None:
        self._deviation = max(ignore, LEAST) * task.tolerance

    def variance(self, count: float) -> float:
        return max(self._deviation, count / math.sqrt(12.0)) ** 2
