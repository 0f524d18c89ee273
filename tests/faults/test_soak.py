"""A short share of `python -m tests.faults.soak`, and that it would find what it looks for."""

from dataclasses import replace

import pytest

from tests.faults.soak import Figures, flat, soak

CYCLES = 100


@pytest.mark.wire
def test_a13_a_hundred_times_unplugged_and_found_again_leave_nothing() -> None:
    figures = list(soak(CYCLES))
    assert figures[-1].cycle == CYCLES
    assert flat(figures), figures


def test_what_grows_is_not_flat() -> None:
    first = Figures(10, 20, 4, 60_000)
    assert flat([first, replace(first, cycle=20)])
    for grown in (
        replace(first, descriptors=30),
        replace(first, threads=5),
        replace(first, memory_kb=64_000),
    ):
        assert not flat([first, grown])
