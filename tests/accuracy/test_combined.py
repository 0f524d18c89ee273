"""Propagation of uncertainty against worked examples of JCGM 100:2008 (GUM) and of EA-4/02."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy import Part, combined, of_bounds


def test_the_end_gauge() -> None:
    """GUM H.1, in nm: shares 25, 9.7, 2.9 and 16.6 with 18, 25.6, 50 and 2 degrees of freedom (H.1.3.1 to
    H.1.3.6); printed are 32 nm (H.1.4) and 16.7 degrees (H.1.6), recomputed 31.67 nm and 16.76."""
    shares = [(25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0)]
    uncertainty, degrees = combined(Part(1.0, u, nu) for u, nu in shares)
    assert uncertainty == pytest.approx(31.67, abs=0.06)
    assert round(uncertainty) == 32
    assert degrees == pytest.approx(16.7, abs=0.1)


def test_the_comparison_of_the_end_gauge() -> None:
    """GUM H.1.3.2, in nm: 13 by the root of 5, 10 by 2.57 and 20 by 3, with 24, 5 and 8 degrees of freedom,
    give 9.7 nm and 25.6 degrees."""
    uncertainty, degrees = combined([Part(1, 13 / 5**0.5, 24), Part(1, 10 / 2.57, 5), Part(1, 20 / 3, 8)])
    assert (round(uncertainty, 1), round(degrees, 1)) == (9.7, 25.6)


def test_a_product_of_three() -> None:
    """GUM G.4.1, example (from memory): relative uncertainties 0.25, 0.57 and 0.82 % from 10, 5 and 15
    observations; the product's is 1.03 % with 19.0 degrees of freedom."""
    x = (3.0, 7.0, 11.0)
    product = math.prod(x)
    parts = [
        Part(product / v, v * r, n - 1)
        for v, r, n in zip(x, (0.0025, 0.0057, 0.0082), (10, 5, 15), strict=True)
    ]
    uncertainty, degrees = combined(parts)
    assert round(100 * uncertainty / product, 2) == 1.03
    assert round(degrees, 1) == 19.0


def test_a_weight_by_substitution() -> None:
    """EA-4/02 S2, in g: 0.0225, 0.00895, 0.0144, 0.00577 twice, all with sensitivity 1: 0.0293 g."""
    shares = (0.0225, 0.00895, 0.0144, 0.00577, 0.00577)
    assert round(combined(Part(1.0, u, math.inf) for u in shares)[0], 4) == 0.0293


def test_bounds() -> None:
    """GUM H.1.3.3 (the rectangular 2e-6 gives 1.2e-6) and H.1.3.5 (0.05 gives 0.029)."""
    assert of_bounds(2e-6) == pytest.approx(1.2e-6, abs=0.05e-6)
    assert round(of_bounds(0.05), 3) == 0.029


def test_nothing_uncertain() -> None:
    assert combined([]) == (0.0, math.inf)
    assert combined([Part(3.0, 0.0, 4.0)]) == (0.0, math.inf)


sizes = st.floats(1e-100, 1e100)
parts = st.lists(st.builds(Part, sizes, st.just(1.0), st.floats(1.0, 1e6)), min_size=1, max_size=6)


@given(parts)
def test_degrees_lie_between_the_least_and_the_sum(shares: list[Part]) -> None:
    """GUM G.4.1: the effective degrees of freedom are at most the sum of those of the inputs."""
    _, degrees = combined(shares)
    each = [share.degrees_of_freedom for share in shares]
    assert min(each) * (1 - 1e-9) <= degrees <= sum(each) * (1 + 1e-9)


@given(parts, st.floats(1e-50, 1e50))
def test_the_unit_does_not_matter(shares: list[Part], factor: float) -> None:
    scaled = [share._replace(standard_uncertainty=factor) for share in shares]
    (one, degrees), (other, same) = combined(shares), combined(scaled)
    assert other == pytest.approx(factor * one)
    assert same == pytest.approx(degrees)
