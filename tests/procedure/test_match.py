"""Two readings that shall agree: both at once, one after the other, or one against an earlier step."""

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, Engine, IllegalAction, Pass, Role, load_procedure_text
from meterlog.procedure.view import Direction, Sound
from meterlog.quantity import Unit
from tests.procedure.bench import HEAD, Bench, ramp
from tests.procedure.test_load import problems

MATCH = """
[[step]]
id = "balance"
title = "Balance"
pattern = "match"
move = "right"
trim = "R22"
tolerance = "0.2 dB"
"""
AT_ONCE = (
    MATCH
    + """
[[step.side]]
name = "left"
channel = "output"
[[step.side]]
name = "right"
channel = "panel"
"""
)
IN_TURN = (
    MATCH
    + """
[[step.side]]
name = "left"
channel = "output"
setup = "Probe on the left."
[[step.side]]
name = "right"
channel = "output"
setup = "Probe on the right."
"""
)
AGAINST = (
    """
[[step]]
id = "first"
title = "First"
pattern = "measure"
channel = "output"
settle = "0.1 dB"
"""
    + MATCH.replace('trim = "R22"', 'trim = "R22"\nagainst = "first"')
    + """
[[step.side]]
name = "right"
channel = "output"
setup = "Probe on the right."
"""
)
UP_1_DB = 1.1220185  # 10^(1/20): the definition of the decibel, IEC 60027-3


def roles(bench: Bench, pass_: Pass) -> list[tuple[str, Role, str]]:
    return [(v.condition, v.role, v.channel) for v in bench.settled if v.pass_ is pass_]


def test_two_channels_are_looked_at_as_found_trimmed_and_looked_at_as_left() -> None:
    bench = Bench(AT_ONCE)
    bench.run_to(1, output=1.0, panel=1.0 / UP_1_DB)
    left, right, apart = bench.settled
    assert roles(bench, Pass.AS_FOUND) == [
        ("left", Role.MEASURED, "output"),
        ("right", Role.MEASURED, "panel"),
        ("", Role.DERIVED, ""),
    ]
    assert (apart.unit, apart.target) == (Unit.NONE, 1.0)
    assert apart.value == pytest.approx(1.0 / UP_1_DB, abs=1e-3)
    assert apart.value == right.value / left.value
    assert apart.verdict is Verdict.FAIL
    bench.run(2, output=1.0, panel=1.0 / UP_1_DB)
    guide = bench.engine.view().guide
    assert "Bring right up with R22" in guide.do_now
    assert (guide.channel, guide.direction) == ("panel", Direction.UP)
    assert guide.distance == pytest.approx(-1.0, abs=0.02)
    assert guide.cue.sound is Sound.PITCH
    assert guide.cue.amount < 0
    bench.run(2, output=1.0, panel=ramp(1.0 / UP_1_DB, 1.0, 2.0))
    bench.run_to(2, output=1.0, panel=1.0)
    assert roles(bench, Pass.ADJUST)[1:] == [("right", Role.ADJUSTED, "panel"), ("", Role.DERIVED, "")]
    bench.run_to(3, output=1.0, panel=1.0)
    assert [v.verdict for v in bench.settled if v.role is Role.DERIVED] == [
        Verdict.FAIL,
        Verdict.PASS,
        Verdict.PASS,
    ]
    assert bench.engine.verdict() is Verdict.PASS


def test_the_side_that_stays_may_drift_and_the_other_follows_it() -> None:
    bench = Bench(AT_ONCE)
    bench.run_to(1, output=1.0, panel=1.0)
    bench.run(6, output=ramp(1.0, 1.2, 6.0), panel=1.0)
    assert not roles(bench, Pass.ADJUST), "nothing is taken while one side moves"
    bench.run(3, output=1.2, panel=1.0)
    guide = bench.engine.view().guide
    assert guide.target == pytest.approx(1.2, abs=2e-3)
    assert guide.direction is Direction.UP


def test_nothing_is_taken_while_one_side_is_silent() -> None:
    bench = Bench(AT_ONCE)
    bench.run(4, output=1.0)
    bench.run(2.4)  # the detectors call a meter silent after two seconds
    bench.run(20, panel=1.0)
    assert bench.settled == []


def test_in_turn_each_side_waits_for_the_pedal() -> None:
    bench = Bench(IN_TURN)
    assert bench.engine.view().guide.do_now == "Probe on the left. Then press."
    bench.run(4, output=0.5)
    assert bench.settled == []
    bench.press()
    bench.run(4, output=1.0)
    assert bench.engine.view().guide.do_now == "Probe on the right. Then press."
    bench.run(4, output=2.0)
    bench.press()
    bench.run(4, output=UP_1_DB)
    assert roles(bench, Pass.AS_FOUND) == [
        ("left", Role.MEASURED, "output"),
        ("right", Role.MEASURED, "output"),
        ("", Role.DERIVED, ""),
    ]
    assert bench.settled[2].value == pytest.approx(UP_1_DB, abs=1e-3)
    bench.press()
    bench.run(4, output=1.0)
    bench.press()
    bench.run(2, output=UP_1_DB)
    guide = bench.engine.view().guide
    assert "Bring right down with R22" in guide.do_now
    assert guide.distance == pytest.approx(1.0, abs=0.02)
    with pytest.raises(IllegalAction, match="not settled in agreement"):
        bench.press()
    bench.run(2, output=ramp(UP_1_DB, 1.0, 2.0))
    bench.run_to(2, output=1.0)
    assert bench.settled[-1].verdict is Verdict.PASS


def test_an_interruption_starts_with_the_first_side_again() -> None:
    bench = Bench(IN_TURN)
    bench.press()
    bench.run(4, output=1.0)
    bench.act(ActionKind.INTERRUPTED)
    assert bench.engine.view().guide.do_now == "Probe on the left. Then press."
    for _ in range(2):
        bench.press()
        bench.run(4, output=1.0)
    assert [(v.condition, v.attempt, v.replaces) for v in bench.settled] == [
        ("left", 1, None),
        ("left", 2, 1),
        ("right", 2, None),
        ("", 2, None),
    ]


def test_against_an_earlier_step_only_the_other_side_is_read() -> None:
    bench = Bench(AGAINST)
    bench.run(4, output=1.0)
    bench.press()
    bench.run(4, output=UP_1_DB)
    first, right, apart = bench.settled
    assert (right.condition, right.target) == ("right", first.value)
    assert apart.value == right.value / first.value


@pytest.mark.parametrize(
    ("tolerance", "value", "unit", "low"),
    [("5 %", 0.02, Unit.NONE, -0.05), ("30 mV", 0.02, Unit.VOLT, -0.03)],
)
def test_the_difference_is_on_the_scale_of_the_tolerance(
    tolerance: str, value: float, unit: Unit, low: float
) -> None:
    bench = Bench(AT_ONCE.replace("0.2 dB", tolerance))
    bench.run_to(1, output=1.0, panel=1.02)
    apart = bench.settled[-1]
    assert apart.value == pytest.approx(value, abs=3e-4)
    assert (apart.unit, apart.target, apart.low, apart.verdict) == (unit, 0.0, low, Verdict.PASS)


def test_two_sides_of_opposite_sign_do_not_agree() -> None:
    bench = Bench(AT_ONCE)
    bench.run_to(1, output=1.0, panel=-1.0)
    assert bench.settled[-1].verdict is Verdict.FAIL


def test_an_absolute_tolerance_can_compare_with_nothing_a_relative_one_waits() -> None:
    zero = {"output": 0.0, "panel": 0.0}
    bench = Bench(AT_ONCE.replace("0.2 dB", "10 mV"))
    bench.run_to(1, **zero)
    assert bench.settled[-1].verdict is Verdict.PASS
    bench = Bench(AT_ONCE)
    bench.run(10, **zero)
    assert bench.settled == []
    bench.act(ActionKind.SKIP, "no signal")


def test_the_same_events_give_the_same_results_again() -> None:
    bench = Bench(AT_ONCE)
    bench.run(12, output=1.0, panel=ramp(0.9, 1.0, 6.0))
    bench.run_to(3, output=1.0, panel=1.0)
    assert len(bench.settled) == 9
    again = Engine(load_procedure_text(HEAD + AT_ONCE, "test.toml"))
    assert [outcome for event in bench.events for outcome in again.apply(event)] == bench.outcomes


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('move = "right"', 'move = "centre"', "no side 'centre' to move; there is left, right"),
        ('name = "right"', 'name = "left"', "two sides have one name"),
        ('channel = "panel"', 'channel = "output"', "need a `setup` each"),
        ('channel = "panel"', 'channel = "pannel"', "no channel 'pannel'"),
        ('tolerance = "0.2 dB"', 'tolerance = "2 Hz"', "does not fit what is in V"),
        ('tolerance = "0.2 dB"', 'tolerance = "2 dB"\nagainst = "x"', "give two sides, or one side and"),
        ('trim = "R22"\n', "", "missing"),
    ],
)
def test_what_is_wrong_in_the_file_is_said(old: str, new: str, says: str) -> None:
    assert says in problems(AT_ONCE.replace(old, new))[0][2]


def test_another_step_can_rest_on_one_side_or_on_the_difference() -> None:
    text = """
[[step]]
id = "share"
title = "Share"
pattern = "derived"
kind = "percent"
of = {step = "balance", condition = "right"}
against = {step = "balance", condition = "left"}
"""
    bench = Bench(AT_ONCE + text)
    bench.run_to(2, output=1.0, panel=0.5)
    assert bench.settled[-1].value == pytest.approx(0.5, abs=1e-3)
