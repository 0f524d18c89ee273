"""Coverage factors of sums: examples of JCGM 101:2008 and EA-4/02 to the printed digits (figures from memory;
each is confirmed by a formula or a simulation here), and shapes whose quantile has a formula."""

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.accuracy.coverage import CLAIMED, coverage_factor, factor_of_sum
from meterlog.accuracy.spread import Shape, Spread, reach_of

RECTANGLE, NORMAL = Shape.RECTANGULAR, Shape.NORMAL


def rectangles(*standards: float) -> list[Spread]:
    return [Spread(RECTANGLE, one) for one in standards]


@pytest.mark.parametrize(
    ("standards", "printed", "decimals"), [((1, 1, 1, 1), 3.88, 2), ((1, 1, 1, 10), 17.0, 1)]
)
def test_sums_of_rectangles_in_the_supplement(
    standards: tuple[float, ...], printed: float, decimals: int
) -> None:
    """JCGM 101:2008, 9.2.3 and 9.2.4: 95 % of a sum of four, the half-widths of the intervals."""
    total = math.hypot(*standards)
    assert round(reach_of(rectangles(*standards), 0.95) * total, decimals) == printed


def test_a_caliper() -> None:
    """EA-4/02, S10: bounds of 50 and 25 um outweigh the rest and make a trapezoid, k = 1.83 for 95 %."""
    assert round(factor_of_sum(rectangles(50.0, 25.0), math.inf, 0.95), 2) == 1.83


@pytest.mark.parametrize("probability", [0.6827, 0.95, CLAIMED, 0.99])
@pytest.mark.parametrize(
    ("shape", "quantile"),
    [
        (RECTANGLE, lambda p: p * math.sqrt(3)),
        (Shape.TRIANGULAR, lambda p: (1 - math.sqrt(1 - p)) * math.sqrt(6)),
        (Shape.ARCSINE, lambda p: math.sin(p * math.pi / 2) * math.sqrt(2)),
    ],
)
def test_one_shape_alone(shape: Shape, quantile: object, probability: float) -> None:
    """By the inverse of its own distribution."""
    expected = quantile(probability)  # type: ignore[operator]
    assert reach_of([Spread(shape, 0.7)], probability) == pytest.approx(expected, abs=5e-4)


@settings(deadline=None)
@given(st.floats(0.05, 1.0))
def test_two_rectangles_are_a_trapezoid(ratio: float) -> None:
    """Its corners outside: (a + b - U)^2 = 4 a b (1 - p) on a side each half (EA-4/02, S10)."""
    a, b = math.sqrt(3), ratio * math.sqrt(3)
    expected = a + b - math.sqrt(4 * a * b * (1 - CLAIMED))
    found = reach_of(rectangles(1.0, ratio), CLAIMED) * math.hypot(1.0, ratio)
    if expected >= a - b:  # else it lies on the trapezoid's flat top
        assert found == pytest.approx(expected, abs=1e-4)


@pytest.mark.parametrize("ratio", [0.01, 0.1, 0.3, 1.0, 3.0, 100.0])
def test_a_rectangle_and_a_normal_spread(ratio: float) -> None:
    """Against the convolution integral, the normal distribution averaged over the rectangle."""
    half_width, steps = math.sqrt(3), 4000
    reach = reach_of([Spread(RECTANGLE, 1.0), Spread(NORMAL, ratio)], CLAIMED) * math.hypot(1.0, ratio)

    def inside(shift: float) -> float:
        return 0.5 * (math.erf((reach - shift) / ratio / 2**0.5) + math.erf((reach + shift) / ratio / 2**0.5))

    places = [half_width * (2 * (k + 0.5) / steps - 1) for k in range(steps)]
    assert math.fsum(map(inside, places)) / steps == pytest.approx(CLAIMED, abs=2e-5)


@settings(deadline=None)  # the first call loads a library
@given(st.lists(st.tuples(st.sampled_from(Shape), st.floats(1e-3, 1e3)), min_size=1, max_size=6))
def test_the_factor_goes_by_shares_alone(parts: list[tuple[Shape, float]]) -> None:
    """Never above the normal's 2 (all other shapes are flatter), never below the arcsine's 1.41; the same in
    another unit and another order."""
    spreads = [Spread(*part) for part in parts]
    factor = factor_of_sum(spreads, math.inf)
    assert 1.409 <= factor <= 2.0
    turned = [Spread(shape, 1e-6 * standard) for shape, standard in reversed(parts)]
    assert factor_of_sum(turned, math.inf) == pytest.approx(factor, abs=0.001)


def test_normal_shares_alone_are_students() -> None:
    assert factor_of_sum([Spread(NORMAL, 1.0), Spread(NORMAL, 2.0)], 20.0) == coverage_factor(20.0)


def test_of_nothing_there_is_no_factor_to_compute() -> None:
    with pytest.raises(ValueError, match="nothing is spread"):
        reach_of([], CLAIMED)


@pytest.mark.parametrize("degrees", [5, 10, 20])
@pytest.mark.parametrize("ratio", [0.3, 1.0, 3.0])
def test_a_scatter_estimated_from_few_readings_beside_a_rectangle(degrees: int, ratio: float) -> None:
    """Monte Carlo, seen from the bench: the true scatter is fixed, its estimate and the errors are drawn.
    20 000 rounds are good to 0.3 % (twice the binomial deviation); Welch and Satterthwaite's formula to 1 %.
    """
    random_, held, rounds = random.Random(degrees), 0, 20_000
    factors: dict[float, float] = {}
    for _ in range(rounds):
        scatter = round(ratio * math.sqrt(random_.gammavariate(degrees / 2, 2 / degrees)), 1) or 0.05
        if scatter not in factors:
            u = math.hypot(1.0, scatter)
            effective = degrees * (u / scatter) ** 4
            factors[scatter] = u * factor_of_sum([Spread(RECTANGLE, 1.0), Spread(NORMAL, scatter)], effective)
        error = random_.gauss(0.0, ratio) + random_.uniform(-1.0, 1.0) * math.sqrt(3)
        held += abs(error) <= factors[scatter]
    assert held / rounds == pytest.approx(CLAIMED, abs=0.013)
