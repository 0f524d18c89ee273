"""CUSUM chart against NIST/SEMATECH e-Handbook 6.3.2.3: tests/reference/nist_handbook/cusum_6_3_2_3.toml."""

import random

import pytest

from tests.detect.signals import column, table
from tests.trials.settling.methods.cusum import Cusum, SelfStarting
from tests.trials.settling.methods.page_hinkley import PageHinkley

FILE = "nist_handbook/cusum_6_3_2_3.csv"
EXAMPLE = table("nist_handbook/cusum_6_3_2_3.toml")


def test_the_printed_sums_and_signals() -> None:
    """Printed to two places, a five in the third rounded either way."""
    given = EXAMPLE["given"]
    cusum, signals = Cusum(given["k"]), []
    printed = zip(column(FILE, "y"), column(FILE, "s_hi_printed"), column(FILE, "s_lo_printed"), strict=True)
    for group, (y, high, low) in enumerate(printed, 1):
        larger = cusum.step(y - given["target"])
        assert cusum.high.sum == pytest.approx(high, abs=0.005 + 1e-9), group
        assert cusum.low.sum == pytest.approx(low, abs=0.005 + 1e-9), group
        if larger.sum > given["h"]:
            signals.append(group)
    assert signals == EXAMPLE["printed"]["signal_groups"]
    assert signals[0] == EXAMPLE["printed"]["first_signal_group"]


def test_the_change_is_dated_where_the_sum_left_zero() -> None:
    """In the handbook's data the high sum is last 0 at group 12: two groups are the new level's at 14."""
    cusum = Cusum(EXAMPLE["given"]["k"])
    for y in column(FILE, "y")[:14]:
        larger = cusum.step(y - EXAMPLE["given"]["target"])
    assert larger is cusum.high
    assert larger.run == 2


def steps_until_alarm(test: SelfStarting | PageHinkley, xs: list[float], variance: float) -> tuple[int, int]:
    return next((i, new) for i, x in enumerate(xs) if (new := test.step(x, 1.0, variance)))


def test_without_a_known_level_a_change_is_found_and_dated() -> None:
    noise = random.Random("twenty on one level, then another")
    xs = [noise.gauss(5.0 if i < 20 else 7.0, 0.5) for i in range(40)]
    found, new = steps_until_alarm(SelfStarting(Cusum(0.5), 5.0), xs, 0.25)
    assert 20 <= found <= 24
    assert found - new + 1 == pytest.approx(20, abs=3)


def test_page_hinkley_finds_a_fall_as_well_as_a_rise() -> None:
    for sign in (1.0, -1.0):
        xs = [0.0] * 20 + [sign] * 20
        found, new = steps_until_alarm(PageHinkley(allowed=0.2, threshold=2.0), xs, 0.0)
        assert 22 <= found <= 24
        assert found - new + 1 == 20


def test_a_self_started_sum_is_as_patient_as_one_that_knows_the_level() -> None:
    """k = 0.5, h = 4: a false alarm every 168 readings on average for a one-sided sum with the level known

    (D. C. Montgomery, Introduction to Statistical Quality Control, for both sides; from memory).
    """
    noise = random.Random("false alarms")
    test, alarms, readings = SelfStarting(Cusum(0.5), 4.0), 0, 60_000
    for _ in range(readings):
        if test.step(noise.gauss(), 1.0, 1.0):
            alarms += 1
            test.clear()
    assert 120 <= readings / alarms <= 240
