"""The generic meter."""

import math
import statistics
from dataclasses import replace
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.simulate.meter import MeterModel, MeterPlan

RANGES = (0.4, 4.0, 40.0)


PLAN = MeterPlan(ranges_volts=RANGES, counts=4000, filter_s=0.25, noise_counts=0.0)


def plan(**changes: Any) -> MeterPlan:
    return replace(PLAN, **changes)


def still(volts: float, **changes: Any) -> MeterModel:
    return MeterModel(plan(**changes), lambda _: volts, "seed")


@given(volts=st.floats(-39.9, 39.9))
def test_shows_the_nearest_count(volts: float) -> None:
    shown = still(volts).indicate(100.0)
    assert shown.value is not None
    assert abs(shown.value - volts) <= shown.resolution / 2 * (1 + 1e-6)
    assert shown.resolution == pytest.approx(shown.range_volts / 4000)


@pytest.mark.parametrize(
    ("volts", "range_volts"), [(0.39, 0.4), (0.41, 4.0), (3.9, 4.0), (4.1, 40.0), (-4.1, 40.0)]
)
def test_chooses_the_smallest_range_that_fits(volts: float, range_volts: float) -> None:
    assert still(volts).indicate(100.0).range_volts == range_volts


def test_range_does_not_flutter_at_its_edge() -> None:
    level = {"volts": 3.0}
    model = MeterModel(plan(filter_s=0.001), lambda _: level["volts"], "seed")
    ranges = []
    for second, volts in enumerate((3.0, 4.1, 3.8, 3.5, 4.1, 3.8)):
        level["volts"] = volts
        ranges.append(model.indicate(float(second)).range_volts)
    assert ranges == [4.0, 40.0, 40.0, 4.0, 40.0, 40.0]


def test_overload_has_no_value() -> None:
    assert still(40.0).indicate(100.0).value is None
    assert still(-99.0).indicate(100.0).value is None
    held = still(5.0)
    assert held.fix_range(3.0)
    assert held.indicate(1.0).value is None
    assert held.indicate(1.0).range_volts == 4.0
    assert held.fix_range(None)
    assert held.indicate(2.0).value == 5.0


def test_overrange_counts_on_beyond_full_scale() -> None:
    held = still(4.5, overrange=1.2)
    assert held.fix_range(4.0)
    assert held.indicate(1.0).value == pytest.approx(4.5)
    assert held.fix_range(None)
    assert held.indicate(2.0).range_volts == 4.0, "it goes up when the display is full, not before"
    assert still(4.9, overrange=1.2).indicate(1.0).range_volts == 40.0


def test_no_range_for_too_much() -> None:
    assert not still(1.0).fix_range(50.0)


@pytest.mark.parametrize("looks", [1, 3, 40])
def test_filter_is_first_order_however_often_it_is_read(looks: int) -> None:
    # first order: an error of 1/e after one time constant
    model = MeterModel(plan(counts=10_000_000), lambda t: 1.0 if t >= 10.0 else 0.0, "seed")
    model.indicate(10.0)
    for look in range(1, looks + 1):
        shown = model.indicate(10.0 + 0.25 * look / looks)
    assert shown.value == pytest.approx(1 - math.exp(-1), abs=0.01)


def test_filter_forgets_what_is_long_ago() -> None:
    asked = []

    def signal(time_s: float) -> float:
        asked.append(time_s)
        return 1.0

    model = MeterModel(plan(), signal, "seed")
    model.indicate(0.0)
    asked.clear()
    model.indicate(1e6)
    assert min(asked) >= 1e6 - 2.0 - 1e-3
    assert len(asked) < 200


def test_noise_repeats_with_the_seed_and_has_its_size() -> None:
    def take() -> list[float]:
        model = MeterModel(plan(counts=4_000_000, noise_counts=8.0), lambda _: 1.0, "seed")
        return [model.indicate(t / 8).value or 0.0 for t in range(400)]

    assert take() == take()
    assert statistics.stdev(take()) == pytest.approx(8 * 4.0 / 4_000_000, rel=0.2)


def test_each_meter_has_an_error_of_gain_of_its_own_within_what_is_granted() -> None:
    gains = [MeterModel(plan(gain_within=0.007), lambda _: 1.0, f"seed {n}").gain for n in range(2000)]
    assert all(abs(gain - 1) <= 0.007 for gain in gains)
    # a rectangle's standard deviation is its half-width over the root of 3 (JCGM 100:2008, 4.3.7)
    assert statistics.stdev(gains) == pytest.approx(0.007 / math.sqrt(3), rel=0.05)
    assert statistics.mean(gains) == pytest.approx(1.0, abs=5e-4)


def test_a_meter_keeps_its_error_of_gain() -> None:
    meter, again = (still(1.0, gain_within=0.007, counts=10_000_000) for _ in range(2))
    shown = [meter.indicate(float(second)).value for second in range(1, 4)]
    assert shown == pytest.approx([meter.gain] * 3, rel=1e-6)
    assert again.gain == meter.gain != 1.0
