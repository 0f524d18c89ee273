"""What is taken at the end of a hold is where the level is then; what goes no further fails in words.

+4 dBu is 1.2277 V (0 dBu = sqrt(0.6) V, ITU-R V.574); the movements are made up.
"""

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, IllegalAction, SessionEnded, StepEnded
from meterlog.procedure.patterns.stuck import Stuck
from tests.procedure.bench import Bench, ramp
from tests.procedure.test_patterns import ADJUST, PLUS_4_DBU, skip_to

WIDE = ADJUST.replace('tolerance = "0.1 dB"', 'tolerance = "1 dB"\nhold = "3 s"')


def test_a_level_moved_within_its_window_is_taken_where_it_came_to() -> None:
    bench = Bench(WIDE)
    skip_to(bench, "level")
    bench.run(2.4, output=PLUS_4_DBU)
    assert not bench.settled, "the hold still runs"
    moved = PLUS_4_DBU * 1.09  # 0.75 dB up: inside, and nobody left
    bench.run(6, output=ramp(PLUS_4_DBU, moved, 0.4))
    (taken,) = bench.settled
    assert abs(taken.value - moved) <= 2 * taken.standard_uncertainty + 2e-4
    assert taken.verdict is Verdict.PASS


def test_a_level_that_goes_no_further_is_left_by_the_pedal_as_failed_with_how_far_it_is() -> None:
    bench = Bench(ADJUST)
    skip_to(bench, "level")
    bench.run(3, output=ramp(0.9, 1.0, 2.0))
    with pytest.raises(IllegalAction, match="skip it with a reason"):
        bench.press()
    bench.run(10, output=1.0)
    guide = bench.engine.view().guide
    assert guide.awaiting_go_on
    assert guide.do_now.startswith("It has not moved for")
    bench.press()
    end = [outcome for outcome in bench.outcomes if isinstance(outcome, StepEnded)][-1]
    assert end.verdict is Verdict.FAIL
    assert end.reason == "goes no further: -1.78 dB from the target"  # 20 log10(1 / 1.2277)
    assert bench.settled[-1].value == pytest.approx(1.0, rel=1e-3)


def test_a_hand_that_has_not_begun_is_given_longer() -> None:
    bench = Bench(ADJUST)
    skip_to(bench, "level")
    bench.run(15, output=1.0)
    assert not bench.engine.view().guide.awaiting_go_on
    bench.run(8, output=1.0)
    assert bench.engine.view().guide.awaiting_go_on


def test_time_without_readings_is_no_time_in_which_it_did_not_move() -> None:
    stuck = Stuck()
    stuck.feed(0.0, 1.0, 0.01)
    stuck.feed(1.0, 1.0, 0.01)
    stuck.feed(41.0, 1.0, 0.01)
    stuck.feed(43.0, 1.0, 0.01)
    assert (bool(stuck), stuck.for_s) == (False, 2.0)


def test_a_step_that_failed_fails_a_session_that_is_broken_off() -> None:
    bench = Bench(ADJUST + ADJUST.replace('"level"', '"second"'))
    skip_to(bench, "level")
    bench.run(15, output=ramp(0.9, 1.0, 2.0))
    bench.press()
    ended = bench.act(ActionKind.BREAK_OFF, "no use")[-1]
    assert isinstance(ended, SessionEnded)
    assert ended.verdict is Verdict.FAIL


def test_time_outside_the_window_is_no_part_of_the_hold() -> None:
    """Settled just outside for long, then nudged inside: the hold begins there."""
    bench = Bench(ADJUST.replace('tolerance = "0.1 dB"', 'tolerance = "0.1 dB"\nhold = "6 s"'))
    skip_to(bench, "level")
    bench.run(12, output=PLUS_4_DBU * 1.0127)  # +0.11 dB
    bench.run(5, output=PLUS_4_DBU * 1.0104)  # +0.09 dB
    assert not bench.settled
    bench.run(6, output=PLUS_4_DBU * 1.0104)
    assert bench.settled[-1].value == pytest.approx(PLUS_4_DBU * 1.0104, rel=5e-4)
