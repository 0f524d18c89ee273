"""Factors of control charts against tests/reference/control_charts (source there) and by integration."""

import math
from itertools import pairwise

import pytest
from scipy.integrate import dblquad, quad
from scipy.special import ndtr

from meterlog.accuracy.drift import Factors, factors
from tests.accuracy.drift.published import as_printed, rows

SIZES = range(2, 16)


def density(x: float) -> float:
    return math.exp(-x * x / 2) / math.sqrt(2 * math.pi)


@pytest.mark.parametrize("row", rows("control_charts/shewhart_factors.csv"), ids=lambda row: row["n"])
def test_the_table(row: dict[str, str]) -> None:
    """The one cell in which printed tables differ has a test of its own below."""
    ours = factors(int(row["n"]))
    figures = (ours.c4, ours.d2, ours.d3, ours.a2, ours.a3, *ours.b3_b4, *ours.d3_d4)
    for figure, key in zip(figures, list(row)[1:], strict=True):
        assert figure == as_printed(row[key]), key


def test_d4_for_three_in_printed_tables() -> None:
    """ISO 7870-2 has 2.574 (from memory): it follows from d2 = 1.693 and d3 = 0.888, rounded."""
    from_rounded = 1 + 3 * 0.888 / 1.693
    assert from_rounded == as_printed("2.574")
    assert factors(3).d3_d4[1] == as_printed("2.575")


@pytest.mark.parametrize("n", SIZES)
def test_mean_range_by_integration(n: int) -> None:
    """Tippett's integral: the range exceeds every x that lies neither above nor below all n values."""
    mean, _ = quad(lambda x: 1 - (1 - ndtr(x)) ** n - ndtr(x) ** n, -9, 9)
    assert factors(n).d2 == pytest.approx(mean, abs=1e-6)


@pytest.mark.parametrize("n", [2, 3, 5, 9, 15])
def test_spread_of_the_range_by_integration(n: int) -> None:
    """Second moment from the range's density,
    n (n - 1) * integral of phi(x) phi(x + w) (Phi(x + w) - Phi(x))^(n - 2)."""
    moment, _ = dblquad(
        lambda w, x: w * w * n * (n - 1) * density(x) * density(x + w) * (ndtr(x + w) - ndtr(x)) ** (n - 2),
        -8,
        8,
        0,
        10,
        epsabs=1e-9,
    )
    mean, _ = quad(lambda x: 1 - (1 - ndtr(x)) ** n - ndtr(x) ** n, -9, 9)
    assert factors(n).d3 == pytest.approx(math.sqrt(moment - mean * mean), abs=1e-6)


def test_two_values_have_closed_forms() -> None:
    """d2 = 2 / sqrt(pi), d3 = sqrt(2 - 4 / pi), c4 = sqrt(2 / pi)."""
    exact = Factors(2, math.sqrt(2 / math.pi), 2 / math.sqrt(math.pi), math.sqrt(2 - 4 / math.pi))
    assert factors(2) == pytest.approx(exact, abs=1e-6)


def test_larger_groups_are_known_better() -> None:
    for smaller, larger in pairwise(map(factors, SIZES)):
        assert larger.c4 > smaller.c4
        assert larger.a2 < smaller.a2
        assert larger.a3 < smaller.a3


@pytest.mark.parametrize("n", [1, 16])
def test_no_other_groups(n: int) -> None:
    with pytest.raises(ValueError, match="2 to 15"):
        factors(n)
