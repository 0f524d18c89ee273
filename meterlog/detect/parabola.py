"""A parabola through a handful of readings about a maximum."""

from collections.abc import Sequence
from typing import NamedTuple


class Top(NamedTuple):
    """Highest point of the parabola within the readings' times.

    curvature  half the second derivative, per second squared; below 0 for a maximum
    fitted     the readings bear a parabola; if not, `level` is their mean and `at_s` the middle
    leverage   variance of `level` per variance of one reading
    """

    at_s: float
    level: float
    curvature: float
    fitted: bool
    leverage: float


def top(points: Sequence[tuple[float, float]], noise: float) -> Top:
    """Least squares with orthogonal polynomials; `noise` is the standard deviation of one reading.

    A curvature within twice its own error is none, and three readings or fewer bear no parabola.
    """
    n = len(points)
    middle_s = sum(t for t, _ in points) / n
    mean = sum(x for _, x in points) / n
    if n < 4:
        return Top(middle_s, mean, 0.0, False, 1.0 / n)
    times = [t - middle_s for t, _ in points]
    square = sum(u * u for u in times)
    skew, half = sum(u**3 for u in times) / square, square / n
    bends = [u * u - skew * u - half for u in times]
    bend_square = sum(q * q for q in bends)
    slope = sum(u * x for u, (_, x) in zip(times, points, strict=True)) / square
    curvature = sum(q * x for q, (_, x) in zip(bends, points, strict=True)) / bend_square
    if curvature >= 0.0 or curvature * curvature * bend_square < 4.0 * noise * noise:
        return Top(middle_s, mean, 0.0, False, 1.0 / n)
    u = min(max((skew - slope / curvature) / 2.0, times[0]), times[-1])
    bend = u * u - skew * u - half
    leverage = 1.0 / n + u * u / square + bend * bend / bend_square
    return Top(middle_s + u, mean + slope * u + curvature * bend, curvature, True, leverage)
