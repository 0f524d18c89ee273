"""Intervals of ratios: Fieller's theorem, by its definition and by simulation."""

import math
import random

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from meterlog.accuracy.ratio import ends_of_ratio

SHARES = st.floats(0.0, 0.9)


def test_a_sure_divisor_leaves_the_dividends_own_interval() -> None:
    assert ends_of_ratio(0.3, 0.0, 0.3) == pytest.approx((0.7, 1.3))


def test_of_a_sure_dividend_it_is_the_divisors_turned_over() -> None:
    assert ends_of_ratio(0.0, 0.3, 0.3) == pytest.approx((1.0 / 1.3, 1.0 / 0.7))


def test_a_divisor_that_may_be_nothing_has_no_upper_end() -> None:
    found = ends_of_ratio(0.1, 1.2, math.hypot(0.1, 1.2))
    assert 0.0 < found.lower < 1.0
    assert found.upper == math.inf
    assert ends_of_ratio(1.1, 1.2, math.hypot(1.1, 1.2)) == (0.0, math.inf)


def test_a_dividend_that_may_be_nothing_reaches_down_to_it() -> None:
    found = ends_of_ratio(1.1, 0.2, math.hypot(1.1, 0.2))
    assert found.lower == 0.0


@given(SHARES, SHARES, st.floats(-0.95, 0.95))
def test_at_its_ends_the_two_sides_agree_within_their_uncertainty(of: float, over: float, r: float) -> None:
    """The definition: |1 - s| squared is of^2 - 2 s r of over + s^2 over^2."""
    both = math.sqrt(max(0.0, of**2 + over**2 - 2.0 * r * of * over))
    found = ends_of_ratio(of, over, both)
    assert found.lower <= 1.0 + 1e-9 <= found.upper + 2e-9
    for end in found:
        allowed = of**2 - 2.0 * end * r * of * over + (end * over) ** 2
        assert (1.0 - end) ** 2 == pytest.approx(allowed, abs=1e-6 * max(1.0, end) ** 2)


@given(SHARES, SHARES)
def test_turned_over_its_ends_are_turned_over(of: float, over: float) -> None:
    assume(of > 0.01 or over > 0.01)
    one, other = ends_of_ratio(of, over, math.hypot(of, over)), ends_of_ratio(over, of, math.hypot(of, over))
    assert one.lower == pytest.approx(1.0 / other.upper, rel=1e-6)


@pytest.mark.parametrize("scatter", [0.05, 0.2, 0.35])
def test_signal_over_noise_is_held_as_often_as_claimed(scatter: float) -> None:
    """The divisor drawn 20 000 times, k = 2: 0.45 % are three binomial deviations. By its slopes the interval
    holds 93.7 % at 0.2 and 91 % at 0.35."""
    random_, held, told = random.Random(5), 0, 0
    for _ in range(20_000):
        divisor = random_.gauss(1.0, scatter)
        if divisor > 0.0:
            share = 2.0 * scatter / divisor
            found = ends_of_ratio(0.0, share, share)
            told += 1
            held += found.lower <= divisor <= found.upper  # the truth, 1, over the ratio, 1 / divisor
    assert held / told == pytest.approx(0.9545, abs=0.0055)
