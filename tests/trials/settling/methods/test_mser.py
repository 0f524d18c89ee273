"""MSER-5 against a step with known answer: tests/reference/steady_state/step_response.toml."""

from statistics import fmean

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.detect.signals import column, table
from tests.trials.settling.methods.mser import mser5, truncation


def test_the_settled_part_of_a_step() -> None:
    expected = table("steady_state/step_response.toml")["mser5"]
    xs = column("steady_state/step_response.csv", "x")
    assert len(xs) // 5 == expected["batches"]
    found = mser5(xs)
    assert found.dropped == expected["d_best"]
    assert 5 * found.dropped == expected["readings_dropped"]
    assert found.mean == pytest.approx(expected["mean_of_the_rest"], abs=5e-11)
    assert found.statistic == pytest.approx(expected["statistic"], rel=1e-9)


@given(st.lists(st.integers(-50, 50).map(float), min_size=2, max_size=30))
def test_no_other_truncation_of_up_to_half_is_surer(batches: list[float]) -> None:
    def statistic(dropped: int) -> float:
        rest = batches[dropped:]
        mean = fmean(rest)
        return sum((x - mean) ** 2 for x in rest) / len(rest) ** 2

    found = truncation(batches)
    assert found.statistic == pytest.approx(statistic(found.dropped), abs=1e-9)
    assert found.statistic <= min(statistic(d) for d in range(len(batches) // 2 + 1)) + 1e-9
    assert found.mean == pytest.approx(fmean(batches[found.dropped :]), abs=1e-9)
