"""A straight line through pairs, and how well it is known: for calibration and for drift."""

import math
from collections.abc import Sequence
from typing import NamedTuple

from meterlog.accuracy.drift.student import chance, two_sided

LEAST = 3
"""Pairs that tell a line and the scatter about it."""


class Bounds(NamedTuple):
    low: float
    high: float


class Line(NamedTuple):
    """y = mean_y + slope * (x - mean_x). Kept about the mean, where slope and height are not correlated, so
    that no uncertainty can be computed without the covariance.

    sxx          sum of the squares of x - mean_x
    residual_sd  standard deviation of the points about the line, with n - 2
    """

    n: int
    mean_x: float
    mean_y: float
    slope: float
    sxx: float
    residual_sd: float

    @property
    def degrees_of_freedom(self) -> int:
        return self.n - 2

    @property
    def intercept(self) -> float:
        return self.at(0.0)

    @property
    def intercept_sd(self) -> float:
        return self.sd_at(0.0)

    @property
    def slope_sd(self) -> float:
        return self.residual_sd / math.sqrt(self.sxx)

    @property
    def covariance(self) -> float:
        """Of intercept and slope."""
        return -self.mean_x * self.slope_sd**2

    @property
    def slope_chance(self) -> float:
        """Probability that a line without slope shows one like this or steeper, by Student's t."""
        if self.slope_sd == 0.0:
            return 0.0 if self.slope else 1.0
        return chance(self.slope / self.slope_sd, self.degrees_of_freedom)

    def at(self, x: float) -> float:
        return self.mean_y + self.slope * (x - self.mean_x)

    def sd_at(self, x: float) -> float:
        """Standard uncertainty of the line's height at x (JCGM 100:2008, H.3.5)."""
        return math.hypot(self.residual_sd / math.sqrt(self.n), (x - self.mean_x) * self.slope_sd)

    def next_sd_at(self, x: float) -> float:
        """Standard uncertainty of the next single value at x: the line's and the scatter about it."""
        return math.hypot(self.residual_sd, self.sd_at(x))

    def confidence(self, x: float, level: float = 0.95) -> Bounds:
        """Where the line itself lies at x."""
        return self._about(x, self.sd_at(x), level)

    def prediction(self, x: float, level: float = 0.95) -> Bounds:
        """Where the next single value at x will lie (NIST/SEMATECH e-Handbook 4.5.1.2)."""
        return self._about(x, self.next_sd_at(x), level)

    def corrected(self, y: float) -> tuple[float, float]:
        """The x that a single y stands for, and its standard uncertainty; ValueError without a slope.

        NIST/SEMATECH e-Handbook 2.3.6.7.3: u^2 = (s^2 + var_a + x^2 var_b + 2 x cov) / b^2, x = (y - a) / b.
        """
        if self.slope == 0.0:
            raise ValueError("a line without slope cannot be read backwards")
        x = self.mean_x + (y - self.mean_y) / self.slope
        return x, self.next_sd_at(x) / abs(self.slope)

    def _about(self, x: float, sd: float, level: float) -> Bounds:
        half_width = two_sided(self.degrees_of_freedom, level) * sd
        return Bounds(self.at(x) - half_width, self.at(x) + half_width)


def fit_line(xs: Sequence[float], ys: Sequence[float]) -> Line:
    """Least squares, every y with the same uncertainty, x without. Sums about the means, so that a small
    scatter on a large offset loses no digits. ValueError below three pairs or if all x are equal."""
    n = len(xs)
    if n < LEAST or min(xs) == max(xs):
        raise ValueError(f"a line needs {LEAST} pairs with more than one x")
    mean_x, mean_y = math.fsum(xs) / n, math.fsum(ys) / n
    away = [(x - mean_x, y - mean_y) for x, y in zip(xs, ys, strict=True)]
    sxx = math.fsum(dx * dx for dx, _ in away)
    slope = math.fsum(dx * dy for dx, dy in away) / sxx
    residual = math.fsum((dy - slope * dx) ** 2 for dx, dy in away)
    return Line(n, mean_x, mean_y, slope, sxx, math.sqrt(residual / (n - 2)))
