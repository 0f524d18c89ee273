"""Back-offs from an end stop and with a revisit, extrema with a coarse tone first.

0.7943 and 0.8913 are -2 dB and -1 dB as ratios (the definition of the decibel); the curves are made up.
The side peak of an azimuth lies 13.3 dB down: the first side lobe of sin(x)/x, 0.217 (any table of it).
"""

import math

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, IllegalAction, Role, StepEnded
from tests.procedure.bench import Bench, ramp
from tests.procedure.test_patterns import BACK_OFF, EXTREMUM, POSITION_3_DB_DOWN, bias_curve, skip_to

FROM_STOP = """
[[step]]
id = "bias"
title = "Bias"
pattern = "back-off-from-stop"
channel = "output"
stop = "anticlockwise end"
side = "clockwise"
fall = "2 dB"
tolerance = "0.2 dB"
"""
COARSE = """
[[step]]
id = "azimuth"
title = "Azimuth"
pattern = "extremum"
channel = "output"
extremum = "maximum"
bracket = "1 dB"
tolerance = "0.3 dB"
settle = "0.15 dB"
[step.coarse]
setup = "Play 1 kHz."
fine_setup = "Play 10 kHz."
bracket = "0.5 dB"
tolerance = "0.3 dB"
"""


def ended(bench: Bench) -> StepEnded:
    return [outcome for outcome in bench.outcomes if isinstance(outcome, StepEnded)][-1]


def test_from_the_end_stop_the_fall_is_counted_from_what_settled_there() -> None:
    bench = Bench(FROM_STOP)
    skip_to(bench, "bias")
    bench.run(0.4, output=1.0)
    with pytest.raises(IllegalAction, match="not settled at the stop yet"):
        bench.press()
    bench.run(3, output=1.0)
    assert bench.engine.view().guide.awaiting_go_on
    bench.press()
    bench.run(4, output=ramp(1.0, 0.7943, 3.0))
    bench.run(4, output=0.7943)
    stop, kept = bench.settled
    assert (stop.role, kept.role) == (Role.PEAK, Role.ADJUSTED)
    assert stop.value == pytest.approx(1.0, rel=1e-3)
    assert kept.target == pytest.approx(0.7943 * stop.value, rel=1e-4)
    assert kept.verdict is Verdict.PASS


def test_nothing_is_taken_before_the_pedal_says_that_the_stop_is_reached() -> None:
    bench = Bench(FROM_STOP)
    skip_to(bench, "bias")
    bench.run(6, output=0.7943)
    assert not bench.settled


def test_a_higher_level_later_takes_the_stop_back() -> None:
    bench = Bench(FROM_STOP)
    skip_to(bench, "bias")
    bench.run(3, output=0.9)
    bench.press()
    bench.run(4, output=ramp(0.9, 1.0, 1.0))
    assert "Turn to the anticlockwise end" in bench.engine.view().guide.do_now
    assert not bench.settled


def over_the_peak(bench: Bench, scale: float = 1.0) -> None:
    bench.run(10, output=lambda t: scale * bias_curve(min(0.16 * t, POSITION_3_DB_DOWN)))
    bench.run(5, output=scale * bias_curve(POSITION_3_DB_DOWN))


def test_a_revisit_ends_when_the_maximum_is_where_it_was() -> None:
    bench = Bench(BACK_OFF + "revisit = true\n")
    skip_to(bench, "bias")
    over_the_peak(bench)
    assert bench.engine.view().guide.do_now.startswith("Once more over the maximum.")
    over_the_peak(bench)
    assert ended(bench).verdict is Verdict.PASS
    assert "the maximum came back within" in ended(bench).reason
    assert [value.round for value in bench.settled] == [1, 1, 2, 2]


def test_a_maximum_that_has_moved_asks_for_another_round() -> None:
    bench = Bench(BACK_OFF + "revisit = true\n")
    skip_to(bench, "bias")
    over_the_peak(bench)
    over_the_peak(bench, 1.1)
    assert len(bench.settled) == 4
    over_the_peak(bench, 1.1)
    assert len(bench.settled) == 6
    assert "came back within" in ended(bench).reason


def test_a_maximum_that_never_stays_fails_and_says_so() -> None:
    bench = Bench(BACK_OFF + "revisit = true\n")
    skip_to(bench, "bias")
    for number in range(5):
        over_the_peak(bench, 1.0 - 0.08 * number)
    assert ended(bench).verdict is Verdict.FAIL
    assert "the maximum moves: by -" in ended(bench).reason


def lobes(x: float) -> float:
    """|sin(x)/x|."""
    return abs(math.sin(x) / x) if x else 1.0


def by_coarse_tone(bench: Bench, left_at: float) -> None:
    """The 1 kHz lobe is ten times as wide; the hand stops at `left_at` of the 10 kHz one."""
    bench.press()
    bench.run(6, output=lambda t: lobes((-18.0 + 6.0 * t) / 10.0))
    bench.run(4, output=lambda t: lobes((18.0 - 18.0 * min(1.0, t / 3.0)) / 10.0))
    bench.run(5, output=lobes(left_at / 10.0))


def test_the_coarse_tone_comes_first_and_is_kept_beside_the_fine_one() -> None:
    bench = Bench(COARSE)
    skip_to(bench, "azimuth")
    by_coarse_tone(bench, 1.0)
    assert [value.condition for value in bench.settled] == ["coarse", "coarse"]
    assert bench.engine.view().guide.do_now.startswith("Play 10 kHz.")
    bench.press()
    bench.run(3, output=lobes(1.0))
    bench.run(5, output=lambda t: lobes(1.0 - 0.6 * t))
    bench.run(6, output=lambda t: lobes(-2.0 + min(2.0, 0.5 * t)))
    bench.run(3, output=1.0)
    assert ended(bench).verdict is Verdict.PASS
    assert bench.settled[-1].value == pytest.approx(1.0, rel=0.04)


def test_a_side_peak_of_the_fine_tone_is_not_taken() -> None:
    bench = Bench(COARSE)
    skip_to(bench, "azimuth")
    by_coarse_tone(bench, 1.0)
    bench.press()
    while bench.engine.view().guide.do_now.startswith("Hands off"):
        bench.run(0.2, output=lobes(1.0))
    count = len(bench.settled)  # the hand jumps past the first zero
    bench.run(6, output=lambda t: lobes(3.2 + 0.5 * t))
    bench.run(8, output=lobes(4.4934))
    assert len(bench.settled) == count
    assert bench.engine.view().guide.do_now.startswith("A side peak")
    bench.press()  # search afresh, over the true one
    bench.run(8, output=lambda t: lobes(2.0 - 0.5 * t))
    bench.run(6, output=lambda t: lobes(-2.0 + min(2.0, 0.5 * t)))
    bench.run(3, output=1.0)
    assert bench.settled[-1].verdict is Verdict.PASS
    assert bench.settled[-1].value == pytest.approx(1.0, rel=0.04)


def test_with_end_stops_only_the_hand_knows_and_the_pedal_says_so() -> None:
    """Up, against the stop, and back: to the meter that looks like a maximum seen from both sides."""
    bench = Bench(EXTREMUM + "end_stops = true\n")
    skip_to(bench, "azimuth")
    bench.run(4, output=ramp(0.6, 1.0, 4.0))
    bench.run(2, output=1.0)
    bench.run(3, output=ramp(1.0, 0.8, 3.0))
    bench.run(6, output=ramp(0.8, 1.0, 3.0))
    assert not bench.settled
    guide = bench.engine.view().guide
    assert guide.awaiting_go_on
    assert "skip the step and say so" in guide.do_now
    bench.press()
    assert ended(bench).verdict is Verdict.PASS, "the hand has felt it turn on"


def test_a_maximum_at_the_end_of_the_travel_is_left_with_that_reason_and_never_passes() -> None:
    bench = Bench(EXTREMUM + "end_stops = true\n")
    skip_to(bench, "azimuth")
    bench.run(4, output=ramp(0.6, 1.0, 4.0))
    bench.run(2, output=1.0)
    bench.run(3, output=ramp(1.0, 0.8, 3.0))
    bench.run(6, output=ramp(0.8, 1.0, 3.0))
    bench.act(ActionKind.SKIP, "at its end")
    assert ended(bench).reason == "at its end"
    assert bench.engine.verdict() is not Verdict.PASS
