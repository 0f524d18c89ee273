"""Grubbs' test against published figures."""

import pytest

from meterlog.accuracy.outliers import OUTLIER, STRAGGLER, critical, grubbs, word

URANIUM = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57]
"""NIST/SEMATECH e-Handbook 1.3.5.17.1 (Tietjen and Moore's uranium isotope data)."""


def test_the_handbook_s_example_is_reproduced() -> None:
    """The page prints G = 2.4687 (truncated) and the critical value 2.032 for the maximum at 5 %."""
    found = grubbs(URANIUM)
    assert found is not None
    assert found.place == 7
    assert found.statistic == pytest.approx(2.4687, abs=1.01e-4)
    assert critical(8, 0.05, two_sided=False) == pytest.approx(2.032, abs=5e-4)
    assert word(found, 8) == "outlier"


@pytest.mark.parametrize(
    ("n", "straggler", "outlier"),
    [
        (3, 1.155, 1.155),
        (4, 1.481, 1.496),
        (5, 1.715, 1.764),
        (6, 1.887, 1.973),
        (8, 2.126, 2.274),
        (10, 2.290, 2.482),
        (20, 2.709, 3.001),
    ],
)
def test_critical_values_are_those_of_the_standard(n: int, straggler: float, outlier: float) -> None:
    """ISO 5725-2:1994, table 5 (Grubbs' test for one outlier); from memory. Three figures behind the point,
    and the standard's own rounding."""
    assert critical(n, STRAGGLER) == pytest.approx(straggler, abs=1.1e-3)
    assert critical(n, OUTLIER) == pytest.approx(outlier, abs=1.1e-3)


def test_few_or_equal_values_have_no_outlier() -> None:
    assert grubbs([1.0, 2.0]) is None
    assert grubbs([1.0, 1.0, 1.0]) is None
    assert word(None, 3) == ""
    with pytest.raises(ValueError, match="needs 3 values"):
        critical(2, STRAGGLER)


def test_a_straggler_is_less_than_an_outlier() -> None:
    """Between the two critical values for five: 1.715 and 1.764."""
    values = [0.0, 1.0, 2.0, 3.0, 13.0]
    found = grubbs(values)
    assert found is not None
    assert found.statistic == pytest.approx(1.74, abs=0.02)
    assert word(found, 5) == "straggler"
