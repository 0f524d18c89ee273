"""The parts of a scene, against what can be calculated by hand."""

import math
from collections.abc import Callable
from itertools import pairwise
from random import Random

import pytest

from meterlog.reading import State
from tests.trials.falling import curves, effects, meters, packets, turns
from tests.trials.falling.effects import Effect, Readings, Scene
from tests.trials.falling.scene import first_passing
from tests.trials.shown import Shown

LAG_S = 0.5


def scene(seed: int = 1) -> Scene:
    """Evenly from 1 V at 0 s to 0.9 V at 10 s and on."""
    return Scene(Random(seed), lambda t: t / 10.0, lambda part: 1.0 - 0.1 * part, period_s=0.1)


def readings(level: float = 1.0, n: int = 200) -> Readings:
    return [Shown(0.1 * i, level, resolution=1e-6, range_max=2.0) for i in range(1, n + 1)]


def values(shown: Readings) -> list[float]:
    return [r.value for r in shown if r.value is not None]


def test_the_filter_follows_a_ramp_one_lag_behind() -> None:
    response = meters.filtered(lambda t: 2.0 * t, LAG_S, until_s=5.0)
    for t in (0.2, 1.0, 3.0):
        assert response(t) == pytest.approx(2.0 * (t - LAG_S * -math.expm1(-t / LAG_S)), abs=1e-9)


def test_the_filter_answers_a_step_exponentially() -> None:
    response = meters.filtered(lambda t: 0.0 if t < 1.0 else 1.0, LAG_S, until_s=5.0)
    for t in (1.5, 2.0, 4.0):
        assert response(t) == pytest.approx(-math.expm1(-(t - 1.0) / LAG_S), abs=meters.GRID_S / LAG_S)


def test_no_lag_no_filter() -> None:
    assert meters.filtered(math.sin, 0.0, until_s=1.0) is math.sin


@pytest.mark.parametrize("make", [curves.in_volts, curves.in_decibels, curves.resonance, curves.bell])
@pytest.mark.parametrize("fall_db", [3.0, 1.0, 0.3, -1.0])
def test_every_curve_goes_from_the_peak_to_the_target(make: curves.MakeCurve, fall_db: float) -> None:
    curve = make(Random(1), fall_db)
    assert curve(0.0) == pytest.approx(0.0)
    assert curve(1.0) == pytest.approx(1.0)
    assert curve(0.4) < curve(0.6) < curve(1.3)


def test_a_resonance_is_three_decibels_down_at_half_its_bandwidth() -> None:
    """Textbook: 1 / sqrt(2) at a detuning of 1; there the fall to 3.01 dB is complete."""
    half_power_db = 10.0 * math.log10(2.0)
    curve = curves.resonance(Random(1), half_power_db)
    assert curve(2.0) == pytest.approx((1.0 - 1.0 / math.sqrt(5.0)) / (1.0 - 1.0 / math.sqrt(2.0)))


@pytest.mark.parametrize("make", dict.fromkeys(turns.PASSING))
def test_a_hand_that_passes_begins_at_the_peak_and_ends_beyond(make: turns.MakeTurn) -> None:
    for seed in range(20):
        turn = make(Random(seed))
        assert turn.position(0.0) == pytest.approx(0.0)
        assert turn.position(turn.done_s) > 1.0


@pytest.mark.parametrize("make", turns.SHORT)
def test_a_hand_that_stays_short_stays_short(make: turns.MakeTurn) -> None:
    for seed in range(20):
        turn = make(Random(seed))
        assert max(turn.position(0.05 * i) for i in range(600)) <= 0.85


def test_knots_are_joined_by_straight_lines() -> None:
    turn = turns.through([(1.0, 0.0), (3.0, 1.0), (4.0, 0.5)])
    assert [turn.position(t) for t in (0.0, 2.0, 3.5, 9.0)] == pytest.approx([0.0, 0.5, 0.75, 0.5])


def test_the_first_passing_is_found_between_the_looks() -> None:
    assert first_passing(lambda t: t / 2.3456789, 5.0) == pytest.approx(2.3456789, abs=1e-5)
    assert first_passing(lambda t: math.sin(t) * 0.99, 20.0) is None


def spread(shown: Readings) -> float:
    return math.sqrt(math.fsum((x - 1.0) ** 2 for x in values(shown)) / len(shown))


@pytest.mark.parametrize("make", [effects.white, effects.correlated])
def test_noise_is_as_large_as_asked(make: Callable[[float, float], Effect]) -> None:
    """0.2 of N: 0.02 V. A memory of up to 1.5 s leaves 27 independent readings in 400 s at the very least."""
    assert spread(make(0.2, 0.2)(scene(), readings(n=4000))) == pytest.approx(0.02, rel=0.4)


def test_hum_is_a_wave_of_a_twentieth_to_a_fifth() -> None:
    for seed in range(10):
        assert 0.004 < max(abs(x - 1.0) for x in values(effects.hum(scene(seed), readings()))) <= 0.02


def test_glitches_stand_alone() -> None:
    for seed in range(20):
        wild = [i for i, x in enumerate(values(effects.glitches(scene(seed), readings()))) if x != 1.0]
        assert 1 <= len(wild) <= 4
        assert all(b - a > 1 for a, b in pairwise(wild))


def test_an_overload_carries_no_value() -> None:
    lost = [r for r in effects.overloads(scene(), readings()) if r.state is State.OVERLOAD]
    assert 1 <= len(lost) <= 4
    assert all(r.value is None for r in lost)


def test_a_range_change_leaves_a_gap_and_another_resolution() -> None:
    after = effects.autorange(scene(), readings())
    changed = next(i for i, r in enumerate(after) if r.range_max != 2.0)
    assert after[changed].time_s - after[changed - 1].time_s >= 0.3
    assert after[changed].resolution != after[changed - 1].resolution


def test_bunches_arrive_in_order_and_not_before_they_were_taken() -> None:
    arrived = packets.bunches(scene(), readings())
    assert all(a.time_s < b.time_s for a, b in pairwise(arrived))
    assert all(b.time_s >= a.time_s for a, b in zip(readings(), arrived, strict=True))


def test_repeats_add_and_drops_take_away() -> None:
    assert len(packets.repeats(scene(), readings())) > 200
    assert 100 < len(packets.drops(scene(), readings())) < 200


def test_a_meter_asked_too_often_answers_with_what_it_has() -> None:
    meter = meters.over_asked(Random(1))
    taken = {round(meter.taken_s(t), 6) for t in meter.times(Random(1), 10.0)}
    assert len(taken) <= 10.0 / meter.updates_s + 1
    assert meter.period_s < meter.updates_s
