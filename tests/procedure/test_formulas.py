"""The formulas of computed values: slopes, degrees of freedom, and numbers that have no result."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.procedure.formulas import (
    Formula,
    Input,
    cents,
    cents_of_volts,
    computed,
    deviation,
    difference,
    gain,
    product,
    quotient,
    reduction,
    square_over,
)
from meterlog.quantity import Unit, difference_db


def test_degrees_of_freedom_follow_welch_and_satterthwaite() -> None:
    """JCGM 100:2008, G.4.1: equal shares of 4 and of very many degrees give four times 4."""
    four, many = Input(1.0, Unit.VOLT, 0.1, 4.0), Input(1.0, Unit.VOLT, 0.1, math.inf)
    found = computed(difference, four, many)
    assert found is not None
    assert found.settlement.standard_uncertainty == pytest.approx(0.1 * math.sqrt(2))
    assert found.settlement.degrees_of_freedom == pytest.approx(16.0)


FORMULAS: list[Formula] = [
    quotient, product, square_over, difference, deviation, gain, reduction, cents, cents_of_volts(1.0),
]  # fmt: skip
positive = st.floats(1e-3, 1e3)


@pytest.mark.parametrize("formula", FORMULAS)
@given(x=positive, y=positive)
def test_sensitivities_are_the_slopes(formula: Formula, x: float, y: float) -> None:
    """Against differences: JCGM 100:2008, 5.1.3, note 2 evaluates them so."""
    value, by_x, by_y = formula(x, y)
    for slope, size, moved in (
        (by_x, x, lambda h: formula(x + h, y)[0]),
        (by_y, y, lambda h: formula(x, y + h)[0]),
    ):
        step = 1e-5 * size
        seen = _slope(moved, step)
        assert seen == pytest.approx(slope, rel=1e-5, abs=1e-9 * (abs(value) + 1200.0) / step)


def _slope(moved: Callable[[float], float], step: float) -> float:
    return (moved(step) - moved(-step)) / (2.0 * step)


@given(positive, positive)
def test_gain_and_reduction_are_opposite_levels(x: float, y: float) -> None:
    assert gain(x, -y)[0] == pytest.approx(abs(x / y))
    assert difference_db(gain(x, y)[0], 1.0) == pytest.approx(
        -difference_db(reduction(x, y)[0], 1.0), abs=1e-9
    )


@given(st.floats(allow_nan=False, allow_infinity=False), st.floats(allow_nan=False, allow_infinity=False))
def test_no_pair_of_numbers_makes_it_stumble(x: float, y: float) -> None:
    for formula in FORMULAS:
        found = computed(formula, Input(x, Unit.VOLT, 1.0, 5.0), Input(y, Unit.VOLT, 1.0, 5.0))
        assert found is None or math.isfinite(found.settlement.value or 0.0)
