"""When a curve first rises above zero; the crossings are known in closed form."""

import math

import pytest

from meterlog.accuracy.drift.crossing import first_above


@pytest.mark.parametrize("step", [1.0, 0.3, 50.0])
def test_a_root(step: float) -> None:
    found = first_above(lambda x: x * x - 2.0, 0.0, 50.0, step)
    assert found == pytest.approx(math.sqrt(2.0), rel=1e-15)


def test_the_first_of_several() -> None:
    assert first_above(math.sin, 4.0, 100.0) == pytest.approx(2 * math.pi, rel=1e-15)


def test_above_from_the_start() -> None:
    assert first_above(lambda x: 1.0, 3.0, 9.0) == 3.0


def test_zero_is_not_above_and_the_end_counts() -> None:
    assert first_above(lambda x: x - 9.0, 0.0, 9.0) is None
    assert first_above(lambda x: x - 8.9, 0.0, 9.0, step=2.0) == pytest.approx(8.9)
    assert first_above(lambda x: 0.0, 0.0, 9.0) is None
