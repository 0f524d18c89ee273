"""Numbers as print sets them (ISO 80000-1, 7.2: a real minus; a space before the unit)."""

import math

import pytest

from meterlog.report.typography import factor, figure, number


@pytest.mark.parametrize(
    ("value", "digits", "text"),
    [
        (0.0, 2, "0.0"),
        (0.00123, 2, "0.0012"),
        (0.000999, 2, "0.0010"),
        (0.000346, 2, "3.5 × 10⁻⁴"),
        (-0.0012, 2, "−0.0012"),
        (15.0, 3, "15.0"),
        (1234.0, 2, "1200"),
        (99.96, 3, "100"),
        (2.5e7, 2, "2.5 × 10⁷"),
        (math.inf, 2, "∞"),
    ],
)
def test_figures_have_their_significant_digits(value: float, digits: int, text: str) -> None:
    assert figure(value, digits) == text


@pytest.mark.parametrize(
    ("plain", "printed"),
    [
        ("-3.5 dBu", "−3.5\u00a0dBu"),
        ("12 uV", "12\u00a0µV"),
        ("10 kohm", "10\u00a0kΩ"),
        ("23 degC", "23\u00a0°C"),
        ("+3.90 to +4.10", "+3.90 to +4.10"),
        ("up-to-date", "up-to-date"),
        ("'S-777', of 2026-11-20; report 1-2", "'S-777', of 2026-11-20; report 1-2"),
        ("+0.2 -0.3 dB", "+0.2 −0.3\u00a0dB"),
        ("-∞ (-inf)", "−∞ (−inf)"),
    ],
)
def test_numbers_and_units(plain: str, printed: str) -> None:
    assert number(plain) == printed


@pytest.mark.parametrize(
    ("k", "text"),
    [
        (2.0, "2"),
        (1.95, "1.95"),
        (2.025, "2.025"),
        (13.968, "13.968"),
        (10.0, "10"),
        (1.6454482671904334, "1.645"),
    ],
)
def test_a_coverage_factor_has_the_decimals_that_it_is_computed_to(k: float, text: str) -> None:
    """The last one is of a version that did not round it."""
    assert factor(k) == text
