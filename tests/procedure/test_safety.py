"""The gate before a dangerous part: every caution by itself, in every pass, and guards that begin with it."""

import pytest

from meterlog.procedure import ActionKind, Engine, Pass
from tests.procedure.bench import Bench
from tests.procedure.test_guards import GUARD
from tests.procedure.test_load import problems
from tests.procedure.test_patterns import ADJUST, PLUS_4_DBU

GATE = """
[[step]]
id = "gate"
title = "Before the lid comes off"
pattern = "safety"
confirm = ["Speakers are off.", "One hand stays away."]
"""
PREPARE = """
[[step]]
id = "lid"
title = "Lid"
pattern = "prepare"
setup = "Take the lid off."
"""
FIRST = ADJUST.replace('"level"', '"first"')


def passes_of(bench: Bench) -> list[tuple[str, Pass]]:
    return [(planned.step.id, planned.pass_) for planned in bench.engine.plan]


def test_each_caution_has_a_press_of_its_own() -> None:
    bench = Bench(GATE + ADJUST)
    first = bench.engine.view().guide
    assert first.do_now.startswith("Speakers are off.")
    assert (first.phase, first.awaiting_go_on) == ("caution 1 of 2", True)
    bench.press()
    assert bench.engine.view().guide.do_now.startswith("One hand stays away.")
    (ended,) = bench.press()
    assert bench.engine.view().step == "level"
    assert getattr(ended, "reason", "") == "cautions confirmed: 2"


def test_the_gate_stands_in_every_pass_and_no_time_opens_it() -> None:
    bench = Bench(FIRST + GATE + ADJUST)
    gates = [pass_ for step, pass_ in passes_of(bench) if step == "gate"]
    assert gates == [Pass.AS_FOUND, Pass.ADJUST, Pass.AS_LEFT]
    bench.run_to(1, output=PLUS_4_DBU)
    bench.run(600, output=PLUS_4_DBU)
    assert bench.engine.view().step == "gate"


def test_a_gate_of_the_lead_in_is_confirmed_once_before_what_is_found() -> None:
    bench = Bench(GATE + PREPARE + ADJUST)
    assert passes_of(bench)[:3] == [
        ("gate", Pass.AS_FOUND),
        ("lid", Pass.ADJUST),
        ("level", Pass.AS_FOUND),
    ]
    assert [pass_ for step, pass_ in passes_of(bench) if step == "gate"] == list(Pass)


def test_a_gate_that_nothing_follows_in_a_pass_is_left_out_of_it() -> None:
    warm = '[[step]]\nid = "warm"\ntitle = "Warm"\npattern = "warm-up"\ntime = "1 s"\n'
    bench = Bench(ADJUST + GATE + warm)
    assert [pass_ for step, pass_ in passes_of(bench) if step == "gate"] == [Pass.ADJUST]


def test_after_a_pause_all_cautions_come_again() -> None:
    bench = Bench(GATE + ADJUST)
    bench.press()
    bench.act(ActionKind.PAUSE)
    bench.press()
    assert bench.engine.view().guide.phase == "caution 1 of 2"


def test_a_guard_that_begins_with_the_gate_watches_from_there_and_the_view_names_it() -> None:
    guard = GUARD + 'from_step = "gate"\n'
    bench = Bench(guard + FIRST + GATE + ADJUST)
    assert bench.engine.view().watching == ()
    bench.run(0.4, panel=0.6)
    bench.run_to(1, output=PLUS_4_DBU, panel=0.4)
    assert bench.engine.view().watching == ("Panel drive: panel never above 500 mV",)
    bench.run(0.4, panel=0.6)
    view = bench.engine.view()
    assert view.alarm is not None
    assert view.alarm.tripped


def test_nothing_says_safe() -> None:
    bench = Bench(GATE + ADJUST)
    for _ in range(2):
        assert "safe" not in str(bench.engine.view().guide).lower()
        bench.press()


def test_replay_gives_the_same() -> None:
    bench = Bench(GATE + ADJUST)
    bench.press()
    bench.act(ActionKind.INTERRUPTED)
    bench.press()
    bench.press()
    again = Engine(bench.engine.procedure)
    assert [outcome for event in bench.events for outcome in again.apply(event)] == bench.outcomes


@pytest.mark.parametrize("confirm", ["[]", '[""]', '"Speakers are off."'])
def test_a_gate_needs_cautions(confirm: str) -> None:
    steps = GATE.replace('["Speakers are off.", "One hand stays away."]', confirm)
    assert any(field.startswith("step.1.confirm") for _, field, _ in problems(steps + ADJUST))
