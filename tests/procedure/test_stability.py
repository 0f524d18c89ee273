"""Watching what was adjusted while nobody touches it. Levels, times and limits are made up; a straight line
has the slope it was made with, which is all that is checked of the drift.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, Engine, IllegalAction, Measured, Pass, StepEnded
from meterlog.procedure.patterns.excursion import Excursion
from meterlog.procedure.patterns.window import Window
from meterlog.quantity import Span, Unit
from tests.procedure.bench import Bench, ramp
from tests.procedure.test_load import problems
from tests.procedure.test_patterns import ADJUST, PLUS_4_DBU, adjust_end

WATCH = """
[[step]]
id = "stays"
title = "Stays"
pattern = "stability"
setup = "Tap the trimmers and close the lid."
channel = "output"
within = "0.1 dB"
time = "60 s"
drift_per_minute = "0.05 dB"
settle = "0.02 dB"
"""
TARGET = WATCH.replace('within = "0.1 dB"', 'target = "+4 dBu"\ntolerance = "0.1 dB"')


def watched(steps: str = WATCH) -> Bench:
    bench = Bench(steps, noise=2e-5)
    bench.press()
    return bench


def end_of(bench: Bench) -> StepEnded:
    (end,) = [one for one in bench.outcomes if isinstance(one, StepEnded)]
    return end


def test_what_stays_passes_by_itself_with_start_furthest_and_end() -> None:
    bench = watched()
    bench.run(70, output=1.0)
    end = end_of(bench)
    assert end.verdict is Verdict.PASS
    assert [value.condition for value in bench.settled] == ["at the start", "furthest from it", ""]
    assert all(value.value == pytest.approx(1.0, abs=1e-3) for value in bench.settled)
    # The start has no window of its own: the others' lies about it.
    assert [value.verdict for value in bench.settled] == [Verdict.NOT_JUDGED, Verdict.PASS, Verdict.PASS]
    assert end.reason.startswith("stayed inside for 1 min 0 s, furthest after")
    assert "a minute, limit 0.05 dB" in end.reason
    assert 61 <= end.at_ns / 1e9 <= 63


def test_what_leaves_fails_and_says_when_and_how_far() -> None:
    bench = watched()
    bench.run(22, output=1.0)
    (start,) = bench.settled
    gone_s = bench.now_s - start.at_ns / 1e9
    bench.run(5, output=1.03)
    bench.run(45, output=1.0)
    end = end_of(bench)
    assert end.verdict is Verdict.FAIL
    after_s = math.ceil(gone_s + 0.2)
    # 20 lg 1.03 = 0.257 dB, that is 0.157 dB beyond 0.1 dB
    assert f"left the window after {after_s} s, furthest after" in end.reason
    assert "+0.26 dB from the start, 0.16 dB beyond the limit" in end.reason
    assert bench.settled[1].value == pytest.approx(1.03, rel=1e-3)
    assert [value.verdict for value in bench.settled] == [Verdict.NOT_JUDGED, Verdict.FAIL, Verdict.PASS]


def test_one_wild_reading_is_no_excursion() -> None:
    bench = watched()
    bench.run(20, output=1.0)
    bench.run(0.2, output=1.2)
    bench.run(60, output=1.0)
    assert end_of(bench).verdict is Verdict.PASS


@pytest.mark.parametrize(
    ("db_a_minute", "verdict"), [(0.03, Verdict.PASS), (0.07, Verdict.FAIL), (-0.07, Verdict.FAIL)]
)
def test_a_drift_fails_although_it_stays_inside(db_a_minute: float, verdict: Verdict) -> None:
    bench = watched()
    bench.run(90, output=lambda t: 10.0 ** (db_a_minute * t / 60.0 / 20.0))
    end = end_of(bench)
    assert end.verdict is verdict
    assert "stayed inside" in end.reason
    told = float(end.reason.split("drift ")[1].split(" dB")[0])
    assert told == pytest.approx(db_a_minute, abs=0.006)


def test_with_a_target_a_level_outside_at_the_start_fails_at_once() -> None:
    bench = watched(TARGET)
    bench.run(6, output=1.0)
    end = end_of(bench)
    assert (end.verdict, end.reason) == (Verdict.FAIL, "outside the window at the start")


def test_with_a_target_the_window_is_that_of_the_target() -> None:
    bench = watched(TARGET)
    bench.run(20, output=PLUS_4_DBU * 1.008)  # +0.07 dB
    bench.run(60, output=PLUS_4_DBU * 1.014)  # +0.12 dB, only 0.05 dB from the start
    end = end_of(bench)
    assert end.verdict is Verdict.FAIL
    assert "0.02 dB beyond the limit" in end.reason


def test_the_pedal_ends_only_what_has_failed() -> None:
    bench = watched()
    bench.run(20, output=1.0)
    with pytest.raises(IllegalAction, match="goes on by itself"):
        bench.press()
    bench.run(3, output=1.05)
    assert "left the window" in bench.engine.view().guide.do_now
    bench.press()
    end = end_of(bench)
    assert end.verdict is Verdict.FAIL
    assert end.reason.endswith("ended by the operator")


def test_a_level_that_nobody_saw_is_watched_anew() -> None:
    bench = watched()
    bench.run(40, output=1.0)
    bench.run(20)
    bench.run(40, output=1.0)
    assert not [one for one in bench.outcomes if isinstance(one, StepEnded)]
    bench.run(30, output=1.0)
    assert end_of(bench).verdict is Verdict.PASS


def test_a_held_display_is_watched_anew_and_never_passes() -> None:
    bench = watched()
    bench.run(20, output=1.0)
    for _ in range(500):
        bench.now_s += 0.2
        reading = bench.reading("output", 1.0, flags=frozenset({"hold"}))
        bench.give(Measured(round(bench.now_s * 1e9), reading))
    assert not [one for one in bench.outcomes if isinstance(one, StepEnded)]
    assert "HOLD" in bench.engine.view().guide.why_not


def test_an_overload_is_a_level_that_went_away() -> None:
    bench = watched()
    bench.run(20, output=1.0)
    for _ in range(5):
        bench.now_s += 0.2
        bench.give(Measured(round(bench.now_s * 1e9), bench.reading("output", None)))
    bench.run(60, output=1.0)
    end = end_of(bench)
    assert end.verdict is Verdict.FAIL
    assert "beyond the range of the meter" in end.reason


def test_what_never_becomes_still_again_fails_in_the_end() -> None:
    bench = watched(WATCH.replace('"0.1 dB"', '"3 dB"'))
    bench.run(10, output=1.0)
    bench.run(90, output=lambda t: 1.0 + 0.05 * math.sin(t))
    end = end_of(bench)
    assert end.verdict is Verdict.FAIL
    assert "not still at the end" in end.reason


def test_a_pause_begins_it_anew() -> None:
    bench = watched()
    bench.run(40, output=1.0)
    bench.act(ActionKind.PAUSE)
    bench.press()
    bench.run(40, output=1.0)
    assert not [one for one in bench.outcomes if isinstance(one, StepEnded)]


def test_swinging_about_the_start_is_leaving() -> None:
    bench = watched()
    bench.run(20, output=1.0)
    bench.run(4, output=lambda t: 1.0 + (0.05 if round(t / 0.2) % 2 else -0.05))
    bench.run(60, output=1.0)
    assert end_of(bench).verdict is Verdict.FAIL
    assert "left the window after" in end_of(bench).reason


@pytest.mark.parametrize("blinded", ["pause", "interruption", "gap"])
def test_what_has_left_has_failed_although_nobody_saw_the_rest(blinded: str) -> None:
    bench = Bench(WATCH.replace("setup =", "text ="), noise=2e-5)
    bench.run(20, output=1.0)
    bench.run(3, output=1.05)
    if blinded == "pause":
        bench.act(ActionKind.PAUSE)
        bench.press()
    elif blinded == "interruption":
        bench.act(ActionKind.INTERRUPTED)
    else:
        bench.now_s += 60.0
    bench.run(90, output=1.0)
    end = end_of(bench)
    assert end.verdict is Verdict.FAIL
    assert "left the window after" in end.reason
    assert end.reason.endswith("not watched after that")
    (first, again) = [value for value in bench.settled if value.condition == "at the start"]
    assert (again.value, again.replaces) == (first.value, first.number)
    replayed = Engine(bench.engine.procedure)
    assert [outcome for event in bench.events for outcome in replayed.apply(event)] == bench.outcomes


def test_what_has_left_stays_failed_where_the_session_is_broken_off() -> None:
    bench = watched()
    bench.run(20, output=1.0)
    bench.run(3, output=1.05)
    bench.act(ActionKind.BREAK_OFF, "enough seen")
    assert end_of(bench).verdict is Verdict.FAIL


def test_it_is_run_after_what_was_adjusted_and_fails_the_unit() -> None:
    bench = Bench(ADJUST + WATCH, noise=2e-5)
    assert [p.pass_ for p in bench.engine.plan if p.step.id == "stays"] == [Pass.ADJUST]
    bench.run_to(2, output=PLUS_4_DBU)
    bench.press()
    bench.run(10, output=PLUS_4_DBU)
    bench.run(80, output=ramp(PLUS_4_DBU, 1.3, 5.0))
    assert adjust_end(bench, "stays").verdict is Verdict.FAIL
    assert bench.engine.verdict() is Verdict.FAIL


def test_replay_gives_the_same() -> None:
    bench = watched()
    bench.run(30, output=1.0)
    bench.run(50, output=ramp(1.0, 1.02, 20.0))
    again = Engine(bench.engine.procedure)
    assert [outcome for event in bench.events for outcome in again.apply(event)] == bench.outcomes
    assert end_of(bench).verdict is Verdict.FAIL


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('within = "0.1 dB"', "", "one of them"),
        ('within = "0.1 dB"', 'within = "0.1 dB"\ntarget = "+4 dBu"\ntolerance = "1 dB"', "one of them"),
        ('within = "0.1 dB"', 'target = "+4 dBu"', "together"),
        ('within = "0.1 dB"', 'within = "0.1 Hz"', "does not fit"),
        ('time = "60 s"', 'time = "5 s"', "less than 10 s"),
        ('drift_per_minute = "0.05 dB"', "", "missing"),
    ],
)
def test_what_cannot_be_watched_is_said(old: str, new: str, says: str) -> None:
    found = problems(WATCH.replace(old, new))
    assert any(says in message for *_, message in found), found


@settings(max_examples=200)
@given(st.lists(st.floats(-2.0, 2.0), min_size=1, max_size=30))
def test_the_furthest_is_spoken_for_by_two_neighbours(levels: list[float]) -> None:
    window = Window.around(0.0, Span(0.5, Unit.VOLT))
    seen = Excursion(0.0, 0.0, window)
    for number, level in enumerate(levels):
        seen.see(number + 1.0, level)
    pairs = list(zip([0.0, *levels], levels, strict=False))
    out = [not window.contains(a) and not window.contains(b) for a, b in pairs]
    both = [min(abs(a), abs(b)) for (a, b), left in zip(pairs, out, strict=True) if a * b > 0.0 or left]
    assert abs(seen.furthest) == max(both, default=0.0)
    assert (seen.left_after_s is not None) == any(not window.contains(far) for far in both)


def test_a_reading_that_is_merely_late_hides_nothing() -> None:
    """A meter of five readings a second on a busy line: now and then none for a second."""
    bench = watched()
    for _ in range(6):
        bench.run(10, output=1.0)
        bench.now_s += 1.0
    bench.run(5, output=1.0)
    assert end_of(bench).verdict is Verdict.PASS
