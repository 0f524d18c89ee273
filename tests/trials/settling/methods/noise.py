"""Variance of the readings, learnt as they come."""

MEMORY = 0.1
"""Weight of the newest; an estimate over about nineteen readings."""


class Noise:
    """Variance from second differences, which a steady trend does not enter.

    J. von Neumann and others, Annals of Mathematical Statistics 12 (1941) 153, give the idea for first
    differences; for second ones the variance is multiplied by six.
    """

    def __init__(self) -> None:
        self.variance = 0.0
        self._n = 0
        self._before = self._last = 0.0

    def restart(self) -> None:
        """The next reading does not follow the last; the noise is still the meter's."""
        self._n = 0

    def step(self, x: float) -> float:
        """The variance after reading x, 0.0 before the third."""
        if self._n >= 2:
            square = (x - 2.0 * self._last + self._before) ** 2 / 6.0
            self.variance += max(MEMORY, 1.0 / (self._n - 1)) * (square - self.variance)
        self._n += 1
        self._before, self._last = self._last, x
        return self.variance
