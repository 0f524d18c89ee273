"""The session round the patterns: plan, redo, skip, pause, interruption, verdict, and replay bit for bit."""

import dataclasses
import struct

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from meterlog.accuracy import Verdict
from meterlog.procedure import (
    Acted,
    ActionKind,
    Ending,
    Engine,
    Event,
    IllegalAction,
    Measured,
    Outcome,
    Pass,
    SessionEnded,
    SessionState,
    StepEnded,
    Ticked,
    plan_of,
)
from tests.procedure.bench import Bench, ramp
from tests.procedure.test_patterns import ADJUST, ALTERNATE, BACK_OFF, PLUS_4_DBU, THRESHOLD

SOURCE = """
[[step]]
id = "tone"
title = "Tone"
pattern = "set-source"
channel = "output"
target = "0 dBu"
tolerance = "0.2 dB"
"""
ZERO_DBU = 0.7746
TWO = ADJUST + ADJUST.replace('"level"', '"second"').replace("+4 dBu", "0 dBu")


def test_as_found_runs_over_all_steps_before_the_first_trimmer() -> None:
    bench = Bench(ADJUST + SOURCE + BACK_OFF + THRESHOLD)
    rows = [(row.pass_, row.step.id) for row in plan_of(bench.engine.procedure)]
    assert rows == [
        (Pass.AS_FOUND, "level"),
        (Pass.AS_FOUND, "tone"),
        (Pass.AS_FOUND, "bias"),
        (Pass.AS_FOUND, "lamp"),
        (Pass.ADJUST, "level"),
        (Pass.ADJUST, "tone"),
        (Pass.ADJUST, "bias"),
        (Pass.ADJUST, "lamp"),
        (Pass.AS_LEFT, "level"),
        (Pass.AS_LEFT, "tone"),
        (Pass.AS_LEFT, "lamp"),
        (Pass.AS_LEFT, "close"),
    ]


def test_a_source_that_serves_no_step_of_a_pass_is_not_set_in_it() -> None:
    bench = Bench(ADJUST + SOURCE + BACK_OFF)
    assert [row.step.id for row in bench.engine.plan if row.pass_ is Pass.AS_LEFT] == ["level", "close"]


def test_redo_means_the_step_just_stored_and_points_to_the_value_it_replaces() -> None:
    bench = Bench(TWO)
    bench.run_to(1, output=1.0)
    bench.act(ActionKind.REDO, "the probe had slipped")
    assert bench.engine.place == 0
    bench.run(4, output=1.1)
    first, again = bench.settled[:2]
    assert (again.place, again.attempt, again.replaces) == (first.place, 2, first.number)
    assert again.value == pytest.approx(1.1, abs=1e-3)


def test_redo_of_an_earlier_step_comes_back_to_where_it_was() -> None:
    bench = Bench(TWO)
    bench.run_to(3, output=PLUS_4_DBU)
    bench.run_to(4, output=ZERO_DBU)
    bench.act(ActionKind.REDO, "doubt", place=2)
    bench.run(0.4, output=PLUS_4_DBU)
    bench.act(ActionKind.REDO, "doubt again", place=3)
    bench.act(ActionKind.SKIP, "enough")
    assert bench.engine.place == 2, "the redo that was left is come back to first"
    bench.act(ActionKind.SKIP, "enough")
    assert bench.engine.place == 4


def test_redo_of_a_step_not_reached_is_refused() -> None:
    bench = Bench(TWO)
    with pytest.raises(IllegalAction, match="has not been reached"):
        bench.act(ActionKind.REDO, "", place=3)


def test_skip_needs_a_reason_and_leaves_the_unit_not_judged() -> None:
    bench = Bench(ADJUST)
    with pytest.raises(IllegalAction, match="why"):
        bench.act(ActionKind.SKIP, "  ")
    for _ in range(3):
        bench.act(ActionKind.SKIP, "no time")
    bench.press()
    ends = [outcome for outcome in bench.outcomes if isinstance(outcome, StepEnded)]
    assert [end.ending for end in ends] == [Ending.SKIPPED] * 3 + [Ending.DONE]
    assert bench.outcomes[-1] == SessionEnded(verdict=Verdict.NOT_JUDGED, at_ns=ends[-1].at_ns)


def test_last_step_cannot_be_skipped() -> None:
    bench = Bench(ADJUST)
    for _ in range(3):
        bench.act(ActionKind.SKIP, "no time")
    with pytest.raises(IllegalAction, match="closes the session"):
        bench.act(ActionKind.SKIP, "no time")


def test_a_failed_as_left_fails_the_unit() -> None:
    bench = Bench(ADJUST)
    bench.act(ActionKind.SKIP, "known")
    bench.run_to(2, output=PLUS_4_DBU)
    bench.run_to(3, output=1.0)
    assert bench.engine.verdict() is Verdict.FAIL


def test_a_procedure_that_only_measures_is_judged_by_what_it_found() -> None:
    warm_up = '[[step]]\nid = "warm"\ntitle = "Warm"\npattern = "warm-up"\ntime = "1 s"\n'
    measure = ADJUST.replace('"adjust"', '"measure"\nsettle = "0.1 dB"')
    bench = Bench(warm_up + measure)
    bench.run(6, output=PLUS_4_DBU)
    bench.press()
    assert bench.engine.verdict() is Verdict.PASS


def test_pause_takes_nothing_and_the_pedal_goes_on_with_fresh_evidence() -> None:
    bench = Bench(ADJUST)
    bench.run(0.6, output=1.0)
    bench.act(ActionKind.PAUSE)
    bench.run(10, output=1.0)
    assert bench.settled == []
    assert bench.engine.state is SessionState.PAUSED
    bench.press()
    began_s = bench.now_s
    bench.run(4, output=1.0)
    assert bench.settled[0].since_ns >= began_s * 1e9


def test_interruption_starts_the_evidence_of_the_step_anew() -> None:
    bench = Bench(ADJUST)
    bench.run(0.8, output=1.0)
    bench.act(ActionKind.INTERRUPTED)
    began_s = bench.now_s
    bench.run(4, output=1.0)
    assert bench.settled[0].since_ns >= began_s * 1e9


def test_nothing_happens_before_the_start_and_nothing_after_the_end() -> None:
    bench = Bench(ADJUST)
    engine = Engine(bench.engine.procedure)
    with pytest.raises(IllegalAction, match="not begun"):
        engine.apply(Acted(0, ActionKind.GO_ON))
    assert engine.apply(Measured(0, bench.reading("output", 1.0))) == []
    with pytest.raises(IllegalAction, match="begun already"):
        bench.act(ActionKind.START)
    for _ in range(3):
        bench.act(ActionKind.SKIP, "no time")
    bench.press()
    with pytest.raises(IllegalAction, match="closed"):
        bench.press()
    assert bench.run(2, output=1.0) == []


def bits(outcome: Outcome) -> tuple[object, ...]:
    """Every field, floats as their eight bytes."""
    fields = dataclasses.astuple(outcome)
    return tuple(struct.pack(">d", item) if isinstance(item, float) else item for item in fields)


def replayed(bench: Bench, events: list[Event]) -> list[Outcome]:
    engine = Engine(bench.engine.procedure)
    return [outcome for event in events for outcome in engine.apply(event)]


_moves = st.lists(
    st.one_of(
        st.tuples(st.just("run"), st.floats(0.2, 6), st.floats(0.0, 2.0), st.floats(0.0, 2.0)),
        st.tuples(st.just("act"), st.sampled_from([k for k in ActionKind if k is not ActionKind.START])),
    ),
    max_size=30,
)


@settings(max_examples=60, deadline=None)
@given(_moves, st.integers(0, 2**16))
def test_any_session_replays_bit_for_bit(moves: list[tuple], seed: int) -> None:
    bench = Bench(TWO + THRESHOLD + BACK_OFF + ALTERNATE, seed=seed)
    for move in moves:
        if move[0] == "run":
            _, seconds, start, end = move
            bench.run(seconds, output=ramp(start, end, seconds / 2), panel=ramp(0.2 * start, 0.2 * end, 0.5))
        else:
            try:
                bench.act(move[1], "because")
            except IllegalAction:
                continue
    kept = [event for event in bench.events if not isinstance(event, Ticked)]
    assert [bits(o) for o in replayed(bench, kept)] == [bits(o) for o in bench.outcomes]


@settings(max_examples=60, deadline=None)
@given(_moves)
def test_every_settled_value_is_one_the_channel_really_held(moves: list[tuple]) -> None:
    """Numbers count up, windows and verdicts agree, and no value lies outside what was fed."""
    bench = Bench(TWO + THRESHOLD + ALTERNATE)
    seen: list[float] = [0.0]
    for move in moves:
        if move[0] == "run":
            _, seconds, start, end = move
            seen += [start, end, 0.2 * start, 0.2 * end]
            bench.run(seconds, output=ramp(start, end, seconds / 2), panel=ramp(0.2 * start, 0.2 * end, 0.5))
        else:
            try:
                bench.act(move[1], "because")
            except IllegalAction:
                continue
    assert [value.number for value in bench.settled] == list(range(1, len(bench.settled) + 1))
    for value in bench.settled:
        assert min(seen) - 0.01 <= value.value <= max(seen) + 0.01
        inside = value.low is None or value.low <= value.value <= value.high
        assert value.target is None or (value.verdict is Verdict.PASS) == inside
        assert value.expanded_uncertainty >= 1.9 * value.standard_uncertainty > 0
