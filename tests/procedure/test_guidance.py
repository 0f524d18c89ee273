"""What the hand is told on the way: as the level is, let go near the middle, and from which side to come.

Levels and times are invented; what is checked are rules that this project sets itself.
"""

import math

import pytest

from meterlog.procedure import ActionKind, Cue, Guide, Role, Sound
from meterlog.procedure.patterns.approach import Approach
from meterlog.procedure.patterns.recent import Lag, Recent, Way
from meterlog.procedure.patterns.window import Window
from meterlog.procedure.view import Direction
from meterlog.quantity import parse_span, ratio_from_db
from tests.procedure.bench import Bench, hump, ramp
from tests.procedure.test_patterns import (
    ADJUST,
    ALTERNATE,
    BACK_OFF,
    PLUS_4_DBU,
    POSITION_3_DB_DOWN,
    bias_curve,
    skip_to,
)

TENTH_DB = parse_span("0.1 dB")


def window() -> Window:
    return Window.aimed_at(1.0, TENTH_DB)


def volts(db: float) -> float:
    return ratio_from_db(db)


def guide(bench: Bench) -> Guide:
    return bench.engine.view().guide


@pytest.mark.parametrize("db", [-0.09, -0.06, 0.06, 0.09])
def test_inside_but_not_near_the_middle_the_way_is_still_told(db: float) -> None:
    cue = window().cue(volts(db))
    assert cue.sound is Sound.PITCH
    assert cue.amount * db > 0.0
    assert window().contains(volts(db))
    assert window().direction(volts(db)) is (Direction.UP if db < 0 else Direction.DOWN)


@pytest.mark.parametrize("db", [-0.04, 0.0, 0.04])
def test_near_the_middle_a_chime_lets_the_hand_go(db: float) -> None:
    assert window().cue(volts(db)) == Cue(Sound.INSIDE)
    assert window().direction(volts(db)) is Direction.HOLD


def test_the_pitch_grows_with_the_distance_and_fastest_near_the_target() -> None:
    amounts = [window().pitch(volts(0.1 * tolerances)) for tolerances in range(25)]
    assert amounts == sorted(amounts)
    assert amounts[0] == 0.0
    assert amounts[-1] == 1.0
    assert amounts[1] - amounts[0] > 2.0 * (amounts[12] - amounts[11])


def test_a_tolerance_of_nothing_has_a_pitch_too() -> None:
    flat = Window.aimed_at(0.0, parse_span("1 %"))
    assert flat.pitch(1.0) == 1.0
    assert flat.cue(0.0) == Cue(Sound.INSIDE)


def fed(recent: Recent, *levels: float | None) -> Recent:
    for number, level in enumerate(levels):
        recent.feed(0.1 * number, level)
    return recent


def test_readings_that_agree_are_averaged_and_a_moved_level_counts_at_once() -> None:
    recent = fed(Recent(TENTH_DB), 1.0, 1.001, 1.0005)
    assert recent.level == pytest.approx(1.0005)
    assert recent.readings == 3
    recent.feed(0.3, 1.02)
    assert (recent.level, recent.readings) == (1.02, 1)


def test_readings_grow_old_and_a_display_without_a_number_ends_them() -> None:
    recent = fed(Recent(TENTH_DB), 1.0)
    recent.feed(5.0, 1.001)
    assert (recent.level, recent.readings) == (1.001, 1)
    recent.feed(5.1, None)
    assert (recent.level, recent.readings) == (None, 0)


@pytest.mark.parametrize("interval_s", [0.02, 0.1, 0.4])
def test_what_a_first_order_meter_averages_is_taken_out(interval_s: float) -> None:
    """Its answer to a step from 0 to 1 at time 0 is 1 - exp(-t / lag): any textbook on filters."""
    lag = Lag(0.3)
    for number in range(1, round(2.0 / interval_s)):
        at_s = number * interval_s
        level = lag.taken_out(at_s, 1.0 - math.exp(-at_s / 0.3))
        if at_s > 0.2 + interval_s:  # the whole stretch lies after the step
            assert level == pytest.approx(1.0, abs=0.02 if interval_s < 0.2 else 0.15)


def test_a_ramp_shown_late_is_told_as_it_is() -> None:
    """A first-order meter shows a ramp late by its lag."""
    lag = Lag(0.5)
    levels = [lag.taken_out(0.1 * n, 0.1 * n - 0.5) for n in range(20)]
    assert levels[-1] == pytest.approx(1.9 - 0.15)  # the middle of the stretch of 0.3 s, not 0.5 s ago


def test_without_a_lag_a_reading_is_the_level() -> None:
    assert Lag(0.0).taken_out(1.0, 7.0) == 7.0
    assert Lag(0.0).enlarges == 1.0


def way(*levels: float) -> Way:
    found = Way()
    for number, level in enumerate(levels):
        found.feed(0.1 * number, level)
    return found


def test_a_hand_that_goes_on_is_seen_ahead_and_one_that_goes_to_and_fro_is_not() -> None:
    assert way(*(0.01 * n for n in range(9))).on(0.4) == pytest.approx(0.05)  # and one interval of 0.1 s
    assert way(0.0, 0.01, 0.0, -0.01, 0.0, 0.01).on(0.4) == pytest.approx(0.0)
    assert way(0.0, 0.1).on(0.4) == 0.0


def test_the_chime_comes_before_a_steady_hand_is_there() -> None:
    """At 0.3 dB/s: early enough for a reaction, not earlier than a second, and not without the hand."""
    bench = Bench(ADJUST, noise=0.0)
    skip_to(bench, "level")
    bench.run(2, output=PLUS_4_DBU * ratio_from_db(-1.0))
    begin_s, away_db = bench.now_s, -1.0
    while guide(bench).cue.sound is not Sound.INSIDE:
        away_db = -1.0 + 0.3 * (bench.now_s - begin_s)
        assert away_db < 0.0
        bench.run(0.2, output=PLUS_4_DBU * ratio_from_db(away_db))
    assert -0.31 < away_db < -0.09
    bench.run(1, output=PLUS_4_DBU * ratio_from_db(away_db))
    assert guide(bench).cue.sound is Sound.PITCH, "stopped short: the pitch tells how much"


def test_while_the_hand_turns_the_level_shown_is_not_ahead_of_the_truth() -> None:
    """A level on its way, then stopped short: never told to be beyond where it has been. The chime may have
    come while it moved; standing, only the pitch is heard."""
    bench = Bench(ADJUST, noise=0.0)
    skip_to(bench, "level")
    goal = PLUS_4_DBU * ratio_from_db(-0.3)
    for _ in range(40):
        bench.run(0.2, output=ramp(1.0, goal, 1.0)(bench.now_s - 0.2))
        assert (guide(bench).present or 0.0) <= goal + 1e-4
    assert guide(bench).cue.sound is Sound.PITCH


def test_a_small_movement_of_a_settled_level_is_told_at_once() -> None:
    bench = Bench(ADJUST + 'hold = "60 s"\n')
    skip_to(bench, "level")
    bench.run(5, output=PLUS_4_DBU)
    assert guide(bench).cue.sound is Sound.INSIDE
    bench.run(0.2, output=PLUS_4_DBU * ratio_from_db(0.07))
    assert guide(bench).cue.sound is Sound.PITCH
    assert "a little down" in guide(bench).do_now


def seconds_until_taken(level: float) -> float:
    bench = Bench(ADJUST)
    skip_to(bench, "level")
    bench.run(2, output=1.0)
    began_s = bench.now_s
    while not bench.settled and bench.now_s < began_s + 20.0:
        bench.run(0.2, output=level)
    return bench.now_s - began_s


def test_the_hold_runs_while_the_level_settles() -> None:
    """One second of dwell and one of hold, both from when it stood still: less than their sum."""
    assert 1.0 <= seconds_until_taken(PLUS_4_DBU) < 2.0


def test_what_could_be_bettered_is_accepted_later() -> None:
    middle = seconds_until_taken(PLUS_4_DBU)
    edge = seconds_until_taken(PLUS_4_DBU * ratio_from_db(0.08))
    assert middle + 0.5 < edge < 6.0


def test_a_condition_that_holds_is_not_to_be_bettered() -> None:
    """Near the edge of the window, hands off: no sound and no word asks for a touch."""
    bench = Bench(ALTERNATE)
    skip_to(bench, "meter")
    bench.press()
    for _ in range(25):
        bench.run(0.2, panel=0.0018)
        if not guide(bench).awaiting_go_on:
            assert guide(bench).cue.sound in (Sound.INSIDE, Sound.SILENT)
            assert guide(bench).direction in (Direction.HOLD, Direction.NONE)
    assert len(bench.settled) == 1
    bench.press()
    bench.run(2, panel=0.230)
    bench.run(1, panel=0.203)
    assert guide(bench).phase == "trim"
    assert guide(bench).cue.sound is Sound.PITCH


ABOVE, BEYOND, TOLERANCE = 1.2, 0.9, 0.1


def approach(*levels: float, spread: float = 0.0) -> bool:
    found = Approach(ABOVE, BEYOND, TOLERANCE)
    for level in levels:
        found.see(level, spread)
    return found.sound


def test_coming_down_into_the_window_is_a_sound_approach() -> None:
    assert approach(1.5, 1.3, 1.1, 1.0)
    assert approach(1.5, 1.0, 1.02, 0.99), "a jitter is no turn back"


def test_whoever_was_too_far_has_to_come_again_from_above() -> None:
    assert not approach(1.3, 0.85)
    assert not approach(1.3, 0.85, 1.0)
    assert not approach(1.3, 0.85, 1.15, 1.0), "not far enough back"
    assert approach(1.3, 0.85, 1.25, 1.0)


def test_turning_back_inside_the_window_is_the_wrong_side_too() -> None:
    assert not approach(1.3, 0.93, 1.03)
    assert approach(1.3, 1.25, 1.4, 1.0), "above, it does no harm"


def test_scatter_is_no_movement() -> None:
    assert approach(1.3, 0.93, 1.03, spread=0.05)
    assert approach(1.3, 0.85, spread=0.05)


def on_the_way(bench: Bench) -> None:
    bench.run(9, output=lambda t: bias_curve(min(0.16 * t, 1.3)))


def test_the_aim_is_told_before_the_peak_is_proven() -> None:
    bench = Bench(BACK_OFF)
    skip_to(bench, "bias")
    told = set()
    for position in range(125):
        bench.run(0.2, output=bias_curve(0.01 * position))
        view = bench.engine.view()
        if view.guide.phase == "seek" and view.guide.cue.sound is Sound.PITCH:
            told.add(view.guide.do_now)
            assert position > 100
            assert view.guide.cue.amount > 0.0
            assert (view.guide.distance or 0.0) > 0.25
            assert view.guide.low is None, "nothing is accepted yet"
    assert any("seems to be passed" in words for words in told)
    assert bench.settled == []


def test_on_the_wrong_side_of_the_start_no_aim_is_told() -> None:
    bench = Bench(BACK_OFF)
    skip_to(bench, "bias")
    for position in range(100):
        bench.run(0.2, output=bias_curve(1.5 + 0.005 * position))
        assert guide(bench).cue.sound is not Sound.PITCH


def test_slowing_down_keeps_telling_the_distance() -> None:
    bench = Bench(BACK_OFF)
    skip_to(bench, "bias")
    on_the_way(bench)
    slow = []
    for step in range(14):
        bench.run(0.2, output=bias_curve(1.3 + 0.03 * step))
        if guide(bench).cue.sound is Sound.SLOW_DOWN:
            slow.append(guide(bench).cue.amount)
    assert slow
    assert all(amount > 0.0 for amount in slow)
    assert slow == sorted(slow, reverse=True)


def too_far(bench: Bench, beyond: float) -> None:
    skip_to(bench, "bias")
    on_the_way(bench)
    bench.run(3, output=lambda t: bias_curve(min(1.3 + 0.16 * t, POSITION_3_DB_DOWN + beyond)))
    bench.run(3, output=bias_curve(POSITION_3_DB_DOWN + beyond))


def test_too_far_goes_back_past_the_target_not_over_the_peak_and_the_page_says_how_far() -> None:
    bench = Bench(BACK_OFF)
    too_far(bench, 0.06)
    shown = guide(bench)
    assert (shown.phase, shown.direction) == ("return", Direction.UP)
    assert shown.cue.sound is Sound.PITCH
    assert shown.cue.amount < 0.0
    assert shown.distance is not None
    assert shown.distance < -0.9, "0.4 dB too far, and half a decibel short of the target to come again"
    place = POSITION_3_DB_DOWN + 0.06
    bench.run(3, output=lambda t: bias_curve(max(1.45, place - 0.1 * t)))
    assert guide(bench).phase == "fall"
    bench.run(6, output=lambda t: bias_curve(min(1.45 + 0.05 * t, POSITION_3_DB_DOWN)))
    bench.run(4, output=bias_curve(POSITION_3_DB_DOWN))
    assert [value.role for value in bench.settled] == [Role.PEAK, Role.ADJUSTED]


def test_straight_back_into_the_window_is_never_captured() -> None:
    bench = Bench(BACK_OFF)
    too_far(bench, 0.06)
    bench.run(10, output=bias_curve(POSITION_3_DB_DOWN))
    assert bench.settled == []
    assert "come again" in guide(bench).do_now


def test_a_single_wild_reading_beyond_sends_nobody_back() -> None:
    bench = Bench(BACK_OFF)
    skip_to(bench, "bias")
    on_the_way(bench)
    bench.run(0.2, output=0.6)
    bench.run(1, output=bias_curve(1.3))
    assert guide(bench).phase == "fall"


def test_a_minimum_is_backed_off_from_upwards() -> None:
    rising = BACK_OFF.replace('"maximum"', '"minimum"')
    bench = Bench(rising)
    skip_to(bench, "bias")
    dip = lambda position: 0.5 / hump(1.0, 1.0, 1.0)(position)  # noqa: E731 - the curve upside down
    bench.run(10, output=lambda t: dip(min(0.16 * t, POSITION_3_DB_DOWN)))
    bench.run(5, output=dip(POSITION_3_DB_DOWN))
    peak, kept = bench.settled
    assert kept.value == pytest.approx(peak.value * math.pow(10, 3 / 20), rel=0.02)


def test_a_pause_forgets_the_way_the_level_came() -> None:
    bench = Bench(BACK_OFF)
    too_far(bench, 0.06)
    bench.act(ActionKind.PAUSE)
    bench.press()
    assert guide(bench).phase == "seek"


def seconds_to_settle(settle: str, db: float) -> float:
    bench = Bench(ADJUST + settle, noise=3e-3, seed=4)
    skip_to(bench, "level")
    bench.run(2, output=1.0)
    began_s = bench.now_s
    while not bench.settled and bench.now_s < began_s + 60.0:
        bench.run(0.2, output=PLUS_4_DBU * ratio_from_db(db))
    assert bench.settled[0].low is not None
    assert bench.settled[0].low <= bench.settled[0].value
    return bench.now_s - began_s


def test_in_the_middle_of_the_window_less_has_to_be_known_unless_the_file_says_how_much() -> None:
    assert seconds_to_settle("", 0.0) < seconds_to_settle('settle = "0.05 dB"\n', 0.0)
    assert Window.around(1.0, TENTH_DB).room(volts(0.08)) == pytest.approx(0.0023, abs=2e-4)  # 0.02 dB of 1 V
    assert Window.around(1.0, TENTH_DB).room(volts(0.2)) == 0.0
