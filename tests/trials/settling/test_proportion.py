"""The interval against published values and against its own definition."""

from math import comb

import pytest

from tests.trials.settling.proportion import clopper_pearson


def test_example_of_the_nist_handbook() -> None:
    """NIST/SEMATECH e-Handbook of Statistical Methods, 7.2.4.1: 4 of 20, 90 %."""
    low, high = clopper_pearson(4, 20, 0.90)
    assert (low, high) == pytest.approx((0.071354, 0.401029), abs=1e-6)


@pytest.mark.parametrize("of", [1, 10, 30, 4_500])
def test_no_hits_in_closed_form(of: int) -> None:
    """(1 - p)^n = 0.025 at the upper limit; one-sided at 95 % 0.0950 for 0 of 30, near the rule of three."""
    assert clopper_pearson(0, of) == pytest.approx((0.0, 1.0 - 0.025 ** (1.0 / of)))
    assert clopper_pearson(of, of) == pytest.approx((0.025 ** (1.0 / of), 1.0))
    assert clopper_pearson(0, 30, 0.90)[1] == pytest.approx(0.0950, abs=5e-5)


@pytest.mark.parametrize(("hits", "of"), [(1, 10), (7, 30), (50, 100), (3, 1000)])
def test_each_limit_leaves_two_and_a_half_per_cent(hits: int, of: int) -> None:
    """The definition of Clopper and Pearson (1934), summed straight from the binomial terms."""

    def probability(ks: range, p: float) -> float:
        return sum(comb(of, k) * p**k * (1.0 - p) ** (of - k) for k in ks)

    low, high = clopper_pearson(hits, of)
    assert probability(range(hits, of + 1), low) == pytest.approx(0.025)
    assert probability(range(hits + 1), high) == pytest.approx(0.025)


def test_nothing_tried_says_nothing() -> None:
    assert clopper_pearson(0, 0) == (0.0, 1.0)
