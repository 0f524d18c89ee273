"""Settled on invented signals whose truth is known."""

import math

import pytest

from meterlog.detect import Motion, Reason, Settled, Settlement, explain
from meterlog.reading import State
from tests.detect.signals import Readings, feed, sampled, step


def settled(verdicts: list[tuple[float, Settlement]]) -> list[tuple[float, Settlement]]:
    return [(t, v) for t, v in verdicts if v.motion is Motion.SETTLED]


def first_after(at_s: float, verdicts: list[tuple[float, Settlement]]) -> tuple[float, Settlement]:
    return next(
        (t, v) for t, v in settled(verdicts) if v.since_s is not None and t > at_s and v.since_s > at_s - 0.5
    )


@pytest.mark.parametrize(("period_s", "dwell_s"), [(0.4, 1.2), (0.125, 1.0)])
def test_captures_within_two_seconds_after_the_hand_stops(period_s: float, dwell_s: float) -> None:
    signal = sampled(
        step(5.0, 1.0, 2.0, move_s=1.0), until_s=12.0, period_s=period_s, sigma=0.0004, count=0.001
    )
    verdicts = feed(Settled(lambda _: 0.01, dwell_s), signal, count=0.001)
    at_s, verdict = first_after(5.0, verdicts)
    assert dwell_s <= at_s - 5.0 <= 2.0
    assert verdict.value == pytest.approx(2.0, abs=0.002)


def test_a_quiet_display_settles_with_the_uncertainty_of_its_count() -> None:
    """JCGM 100:2008 F.2.2.1, once it is too late for creeping under the count; what that adds at first."""
    verdicts = feed(Settled(lambda _: 0.01, 1.2), [(0.4 * i, 0.775) for i in range(40)], count=0.001)
    first, last = settled(verdicts)[0][1], settled(verdicts)[-1][1]
    assert first.value == last.value == pytest.approx(0.775)
    of_count = 0.001 / math.sqrt(12)
    assert of_count < first.standard_uncertainty < 2.5 * of_count
    assert last.standard_uncertainty == pytest.approx(of_count, rel=0.1)


def test_five_readings_are_the_least_however_long_they_take() -> None:
    """Of values of three readings that happen to agree 80 % lay within U (docs/uncertainty.md)."""
    verdicts = feed(Settled(lambda _: 0.01, 1.0), [(1.0 * i, 0.775) for i in range(8)], count=0.001)
    at_s, verdict = settled(verdicts)[0]
    assert (at_s, verdict.readings) == (4.0, 5)


def test_what_is_supposed_of_creeping_is_no_statistic_with_few_degrees_of_freedom() -> None:
    """Five readings have three; they count for the part of u that is their mean's (JCGM 100:2008 G.4.1)."""
    readings = [(1.0 * i, 1.0 + 0.002 * (i % 2)) for i in range(5)]
    _, verdict = settled(feed(Settled(lambda _: 0.1, 4.0), readings))[0]
    of_mean = verdict.spread / math.sqrt(5)
    assert verdict.degrees_of_freedom == pytest.approx(3.0 * (verdict.standard_uncertainty / of_mean) ** 4)


def test_never_settles_before_the_dwell_has_passed() -> None:
    verdicts = feed(Settled(lambda _: 1.0, 2.0), [(0.1 * i, 5.0) for i in range(40)])
    assert settled(verdicts)[0][0] >= 2.0 - 1e-9


def test_a_first_order_tail_is_captured_near_the_level_it_tends_to() -> None:
    def tail(t: float) -> float:
        return 10.0 - 3.0 * math.exp(-t / 0.8)

    at_s, verdict = settled(feed(Settled(lambda _: 0.1, 1.2), sampled(tail, until_s=15.0, sigma=0.005)))[0]
    assert verdict.value == pytest.approx(10.0, abs=0.1)
    assert at_s > 0.8 * math.log(3.0 / 0.1)  # not while the level is still outside


def test_a_ring_settles_only_when_it_has_died_down() -> None:
    def ring(t: float) -> float:
        return 1.0 + 0.5 * math.exp(-t / 1.5) * math.cos(2.0 * math.pi * 0.7 * t)

    verdicts = feed(Settled(lambda _: 0.02, 1.0), sampled(ring, until_s=15.0, period_s=0.125, sigma=0.001))
    at_s, verdict = settled(verdicts)[0]
    assert verdict.value == pytest.approx(1.0, abs=0.02)
    assert at_s > 2.0


@pytest.mark.parametrize("rate", [0.05, -0.02, 0.3])
def test_a_ramp_never_settles(rate: float) -> None:
    verdicts = feed(
        Settled(lambda _: 0.02, 1.2), sampled(lambda t: 1.0 + rate * t, until_s=40.0, sigma=0.001)
    )
    assert not settled(verdicts)
    last = verdicts[-1][1]
    assert last.reason in (Reason.MOVING, Reason.DRIFTING)
    assert last.rate_per_s == pytest.approx(rate, rel=0.2)


def test_a_slow_drift_says_its_rate_per_minute() -> None:
    verdicts = feed(
        Settled(lambda _: 0.02, 1.2, horizon_s=30.0), sampled(lambda t: 1.0 + 0.01 * t, until_s=20.0)
    )
    last = verdicts[-1][1]
    assert last.reason is Reason.DRIFTING
    assert "+0.6 per minute" in explain(last)


def test_hunting_is_named_with_its_period() -> None:
    def hunt(t: float) -> float:
        return 1.0 + 0.2 * math.sin(2.0 * math.pi * t / 3.0)

    verdicts = feed(Settled(lambda _: 0.05, 1.2), sampled(hunt, until_s=30.0, period_s=0.2, sigma=0.002))
    assert not settled(verdicts)
    last = verdicts[-1][1]
    assert last.reason is Reason.OSCILLATING
    assert "period 3 s" in explain(last)


def test_noise_far_beyond_the_tolerance_is_called_noise_with_its_spread() -> None:
    verdicts = feed(Settled(lambda _: 0.02, 1.2), sampled(lambda _: 1.0, until_s=8.0, sigma=0.05))
    last = verdicts[-1][1]
    assert last.reason is Reason.NOISY
    assert last.spread == pytest.approx(0.05, rel=0.6)
    assert "tolerance ±0.02" in explain(last)


def test_a_tolerance_below_one_count_says_so() -> None:
    readings = [(0.4 * i, 1.0 + 0.1 * (i % 2)) for i in range(12)]
    last = feed(Settled(lambda _: 0.05, 1.2), readings, count=0.1)[-1][1]
    assert last.motion is not Motion.SETTLED
    assert last.reason is Reason.FEW_COUNTS


def test_a_2000_count_display_does_not_lose_the_level() -> None:
    """A true level between two counts: the display flickers between them."""
    signal = sampled(lambda _: 1.2345, until_s=12.0, sigma=0.0006, count=0.001, seed=4)
    _, verdict = settled(feed(Settled(lambda _: 0.005, 1.2), signal, count=0.001))[0]
    assert verdict.standard_uncertainty is not None
    assert verdict.value == pytest.approx(1.2345, abs=2.0 * verdict.standard_uncertainty)


def with_wild(readings: Readings, *places: int) -> Readings:
    return [(t, x + 1.0 if i in places else x) for i, (t, x) in enumerate(readings)]


STILL = [(0.4 * i, 5.0) for i in range(20)]


def test_one_wild_reading_changes_nothing() -> None:
    clean, wild = (feed(Settled(lambda _: 0.05, 1.2), r)[-1][1] for r in (STILL, with_wild(STILL, 10)))
    assert wild.motion is Motion.SETTLED
    assert wild.value == pytest.approx(clean.value)


def test_one_wild_reading_at_the_very_start_is_not_a_level() -> None:
    verdicts = feed(Settled(lambda _: 0.05, 1.2), with_wild(STILL, 0))
    assert all(v.value is None or v.value == pytest.approx(5.0, abs=1.01) for _, v in verdicts)
    assert settled(verdicts)[0][1].value == pytest.approx(5.0)


def test_two_agreeing_readings_are_believed() -> None:
    verdicts = feed(Settled(lambda _: 0.05, 1.2), with_wild(STILL, 10, 11))
    assert verdicts[10][1].motion is Motion.SETTLED  # one frame decides nothing
    assert verdicts[11][1].motion is not Motion.SETTLED


@pytest.mark.parametrize(
    ("state", "reason"), [(State.OVERLOAD, Reason.OVERLOAD), (State.BLANK, Reason.NO_VALUE)]
)
def test_a_state_restarts_the_dwell_and_is_named(state: State, reason: Reason) -> None:
    detector = Settled(lambda _: 0.05, 1.2)
    feed(detector, STILL)
    broken = detector.update(8.0, None, state)
    assert (broken.motion, broken.reason, broken.value) == (Motion.WAITING, reason, None)
    again = feed(detector, [(8.4 + 0.4 * i, 5.0) for i in range(5)])
    assert settled(again)[0][0] >= 8.4 + 1.2 - 1e-9


def test_a_range_change_restarts_the_dwell() -> None:
    detector = Settled(lambda _: 0.05, 1.2)
    feed(detector, STILL)
    verdict = detector.update(8.0, 5.0, State.OK, range_max=20.0)
    assert verdict.motion is Motion.WAITING


def test_a_gap_of_more_than_three_periods_restarts_the_dwell() -> None:
    detector = Settled(lambda _: 0.05, 1.2)
    feed(detector, STILL)
    assert detector.update(7.6 + 1.0, 5.0, State.OK).motion is Motion.SETTLED
    assert detector.update(8.6 + 1.6, 5.0, State.OK).motion is Motion.WAITING


def test_a_slower_rhythm_is_learnt() -> None:
    verdicts = feed(Settled(lambda _: 0.05, 4.0, reading_period_s=0.1), [(2.0 * i, 5.0) for i in range(25)])
    assert verdicts[-1][1].motion is Motion.SETTLED


def test_reset_forgets_the_window() -> None:
    detector = Settled(lambda _: 0.05, 1.2)
    feed(detector, STILL)
    detector.reset()
    assert detector.update(8.0, 5.0, State.OK).motion is Motion.WAITING


def test_rearms_by_itself_without_a_correction_when_the_hand_moves_on() -> None:
    signal = sampled(step(8.0, 1.0, 2.0, move_s=1.0), until_s=14.0, sigma=0.001)
    verdicts = feed(Settled(lambda _: 0.02, 1.2), signal)
    assert settled([v for v in verdicts if v[0] < 7.0])[0][1].value == pytest.approx(1.0, abs=0.01)
    assert any(v.motion is Motion.MOVING for t, v in verdicts if 7.0 < t < 8.4)
    assert first_after(8.0, verdicts)[1].value == pytest.approx(2.0, abs=0.01)
    assert not any(v.revised for _, v in verdicts)


def creeping_away(t: float) -> float:
    return 1.0 + max(0.0, t - 3.0) * 0.012


def test_a_value_that_creeps_out_of_tolerance_is_revised_once() -> None:
    verdicts = feed(
        Settled(lambda _: 0.02, 1.2), sampled(creeping_away, until_s=9.0, period_s=0.1, sigma=0.0005)
    )
    assert [v.revised for _, v in verdicts].count(True) == 1
    revision = next(v for _, v in verdicts if v.revised)
    assert revision.motion is not Motion.SETTLED


def test_a_correction_is_not_repeated_by_a_duplicate() -> None:
    detector = Settled(lambda _: 0.02, 1.2)
    for t, x in sampled(creeping_away, until_s=9.0, period_s=0.1, sigma=0.0005):
        if detector.update(t, x, State.OK).revised:
            assert not detector.update(t, x, State.OK).revised
            return
    pytest.fail("no correction seen")


def test_the_dwell_is_no_shorter_than_the_meters_own_averaging() -> None:
    verdicts = feed(Settled(lambda _: 1.0, 1.0, lag_s=2.5), [(0.4 * i, 5.0) for i in range(20)])
    assert settled(verdicts)[0][0] >= 2.5


def test_a_held_level_refines_its_value() -> None:
    verdicts = settled(feed(Settled(lambda _: 0.1, 1.2), sampled(lambda _: 1.0, until_s=7.0, sigma=0.01)))
    first, last = verdicts[0][1], verdicts[-1][1]
    assert first.standard_uncertainty is not None
    assert last.standard_uncertainty is not None
    assert last.readings > first.readings
    assert last.standard_uncertainty < first.standard_uncertainty


@pytest.mark.parametrize(
    ("arguments", "named"),
    [
        ({"dwell_s": 0.0}, "dwell_s is 0.0"),
        ({"dwell_s": math.nan}, "dwell_s is nan"),
        ({"dwell_s": 1.0, "horizon_s": -1.0}, "horizon_s is -1.0"),
        ({"dwell_s": 1.0, "lag_s": -1.0}, "lag_s is -1.0"),
        ({"dwell_s": 1.0, "reading_period_s": 0.0}, "reading_period_s is 0.0"),
    ],
)
def test_settings_that_make_no_sense_are_refused_by_name(arguments: dict[str, float], named: str) -> None:
    with pytest.raises(ValueError, match=named):
        Settled(lambda _: 1.0, **arguments)


@pytest.mark.parametrize(
    ("time_s", "value", "state"),
    [(math.nan, 1.0, State.OK), (0.0, math.inf, State.OK), (0.0, None, State.OK), (0.0, 1.0, State.OVERLOAD)],
)
def test_readings_that_contradict_themselves_are_refused(
    time_s: float, value: float | None, state: State
) -> None:
    with pytest.raises(ValueError, match=r"time_s|value|state"):
        Settled(lambda _: 1.0, 1.0).update(time_s, value, state)


def test_a_tolerance_that_is_no_width_is_refused() -> None:
    with pytest.raises(ValueError, match="tolerance at 1"):
        Settled(lambda _: -0.1, 1.0).update(0.0, 1.0, State.OK)


def test_what_the_display_cannot_tell_is_not_averaged_into_a_value() -> None:
    """A tolerance of less than half a count, on a display that flickers."""
    readings = [(0.1 * i, 1.0 + 0.1 * (i % 2)) for i in range(200)]
    last = feed(Settled(lambda _: 0.04, 1.2), readings, count=0.1)[-1][1]
    assert (last.motion, last.reason, last.settles_in_s) == (Motion.SETTLING, Reason.FEW_COUNTS, None)


def test_hunting_slower_than_the_dwell_is_not_claimed_where_it_turns() -> None:
    """The noise of this seed makes it look still there, twice."""

    def hunt(t: float) -> float:
        return 1.0 + 0.12 * math.sin(2.0 * math.pi * t / 3.5)

    signal = sampled(hunt, until_s=60.0, period_s=0.2, sigma=0.02, seed=1)
    verdicts = feed(Settled(lambda _: 0.1, 1.0), signal)
    assert not [t for t, _ in settled(verdicts) if t > 10.5]  # three periods on, it is known
