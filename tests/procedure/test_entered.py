"""Readings that a person takes and types in."""

import math

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, IllegalAction, Outcome, Pass, Role, load_procedure_text
from meterlog.procedure.engine import Engine
from meterlog.quantity import GAIN, Unit, ratio_from_db
from tests.procedure.bench import HEAD, Bench
from tests.procedure.test_load import problems

POINTER = """
[[step]]
id = "pointer"
title = "VU meter"
pattern = "manual"
text = "Look straight at it."
show = "VU"
uncertainty = "0.1 dB"
target = "0 VU"
tolerance = "0.2 dB"
"""
TRIMMED = POINTER + 'trim = "the meter trimmer"\n'
ZERO_VU = math.sqrt(0.6) * 10 ** (4 / 20)  # +4 dBu: [levels] of the bench; 0 dBu = sqrt(0.6) V, ITU-R V.574


def enter(bench: Bench, text: str) -> list[Outcome]:
    bench.now_s += 1
    return bench.act(ActionKind.ENTER, text)


def test_a_reading_is_typed_in_and_judged() -> None:
    bench = Bench(POINTER)
    guide = bench.engine.view().guide
    assert guide.asks_for == "reading in VU (0 VU = +4 dBu)"
    assert guide.channel == ""
    enter(bench, "-0.1")
    (value,) = bench.settled
    assert (value.role, value.channel, value.unit) == (Role.ENTERED, "", Unit.VOLT)
    assert value.value == pytest.approx(ZERO_VU * 10 ** (-0.1 / 20))
    assert (value.verdict, value.pass_, value.readings) == (Verdict.PASS, Pass.AS_FOUND, 1)
    assert value.since_ns == value.at_ns


def test_the_stated_bounds_become_a_standard_uncertainty() -> None:
    """JCGM 100:2008, 4.3.7: half the width by the root of three. Nothing else is uncertain, so 95.45 % of it
    lie within 1.65 of these (EA-4/02, S9: 1.65 for 95 %); 2 would reach beyond the bounds."""
    bench = Bench(POINTER.replace('"VU"', '"V"').replace('"0 VU"', '"1 V"').replace('"0.1 dB"', '"0.03 V"'))
    enter(bench, "1.1 V")
    (value,) = bench.settled
    assert value.standard_uncertainty == pytest.approx(0.03 / math.sqrt(3))
    assert (round(value.coverage_factor, 2), value.degrees_of_freedom) == (1.65, math.inf)


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ("", "does not begin with a number"),
        ("about zero", "write a number and a unit"),
        ("5 ohm", r"write the number and VU"),
        ("0,5", "decimals after a point"),
        ("0 furlongs", "'furlongs' is not known"),
        ("nan", "does not begin with a number"),
        ("1e999", "too large"),
    ],
)
def test_a_bad_entry_is_refused_with_what_to_type_and_changes_nothing(text: str, says: str) -> None:
    bench = Bench(POINTER)
    before = bench.engine.view()
    with pytest.raises(IllegalAction, match=says):
        enter(bench, text)
    assert bench.engine.view() == before
    assert bench.settled == []


def test_the_pedal_alone_is_no_reading() -> None:
    bench = Bench(POINTER)
    with pytest.raises(IllegalAction, match="type the reading in VU"):
        bench.press()


def test_as_found_one_entry_then_again_and_again_until_inside_then_one_as_left() -> None:
    bench = Bench(TRIMMED)
    enter(bench, "-1 VU")
    assert bench.engine.view().pass_ is Pass.ADJUST
    enter(bench, "-0.5 VU")
    guide = bench.engine.view().guide
    assert "Bring it up with the meter trimmer" in guide.do_now
    assert (guide.round, guide.distance) == (2, pytest.approx(-0.5))
    enter(bench, "+0.3 VU")
    assert "Bring it down" in bench.engine.view().guide.do_now
    enter(bench, "0.1 VU")
    assert bench.engine.view().pass_ is Pass.AS_LEFT
    enter(bench, "0.3 VU")
    assert [(v.pass_, v.round, v.verdict) for v in bench.settled] == [
        (Pass.AS_FOUND, 1, Verdict.FAIL),
        (Pass.ADJUST, 1, Verdict.FAIL),
        (Pass.ADJUST, 2, Verdict.FAIL),
        (Pass.ADJUST, 3, Verdict.PASS),
        (Pass.AS_LEFT, 1, Verdict.FAIL),
    ]
    assert bench.engine.verdict() is Verdict.FAIL


def test_without_a_trimmer_nothing_is_turned() -> None:
    procedure = load_procedure_text(HEAD + POINTER, "p.toml")
    assert [planned.pass_ for planned in Engine(procedure).plan] == [Pass.AS_FOUND, Pass.AS_LEFT]


def test_a_redo_replaces_the_reading_and_a_pause_refuses_one() -> None:
    bench = Bench(POINTER)
    enter(bench, "0")
    bench.act(ActionKind.REDO, "looked from the side", 0)
    bench.act(ActionKind.PAUSE)
    with pytest.raises(IllegalAction, match="nothing can be typed in now"):
        enter(bench, "0.1")
    bench.press()
    enter(bench, "0.1")
    assert [(v.attempt, v.replaces) for v in bench.settled] == [(1, None), (2, 1)]


def test_readings_taken_before_an_interruption_are_taken_again() -> None:
    bench = Bench(TRIMMED)
    enter(bench, "-1")
    enter(bench, "-1")
    bench.act(ActionKind.INTERRUPTED)
    assert bench.engine.view().guide.round == 1
    enter(bench, "0")
    adjusted = [v for v in bench.settled if v.pass_ is Pass.ADJUST]
    assert [(v.attempt, v.round, v.replaces) for v in adjusted] == [(1, 1, None), (2, 1, 2)]


def test_a_setup_comes_before_the_reading() -> None:
    bench = Bench(POINTER.replace('show = "VU"', 'setup = "Tone on."\nshow = "VU"'))
    assert bench.engine.view().guide.asks_for == ""
    with pytest.raises(IllegalAction, match="confirm the setup first"):
        enter(bench, "0")
    bench.press()
    enter(bench, "0")
    assert bench.settled


def test_a_pointer_that_shows_decibels_of_reduction() -> None:
    """Three dB are a ratio of 1.41254: the definition of the decibel, IEC 60027-3."""
    step = POINTER.replace('"VU"', '"dB"').replace('"0 VU"', '"3 dB"')
    bench = Bench(step)
    assert bench.engine.plan[0].step.own_scale == GAIN
    enter(bench, "3.1")
    (value,) = bench.settled
    assert (value.unit, value.target) == (Unit.NONE, pytest.approx(1.41254, rel=1e-5))
    assert value.value == pytest.approx(ratio_from_db(3.1))
    assert value.verdict is Verdict.PASS


def test_percent_are_hundredths_and_their_tolerance_too() -> None:
    """2 % +-0.5 %: from 1.5 % to 2.5 %, not 2 % give or take a hundredth part of itself."""
    step = POINTER.replace('"VU"', '"%"').replace('"0 VU"', '"2 %"').replace('"0.2 dB"', '"0.5 %"')
    bench = Bench(step.replace('"0.1 dB"', '"0.1 %"'))
    enter(bench, "2.4 %")
    (value,) = bench.settled
    assert (value.low, value.high) == (pytest.approx(0.015), pytest.approx(0.025))
    assert value.verdict is Verdict.PASS
    assert value.standard_uncertainty == pytest.approx(0.001 / math.sqrt(3))


def test_about_an_earlier_reading() -> None:
    second = (
        POINTER.replace('"pointer"', '"second"').replace('"0 VU"', '"-10 dB"') + 'reference = "pointer"\n'
    )
    bench = Bench(POINTER + second)
    enter(bench, "+0.1")
    enter(bench, "-9.9")
    assert bench.settled[1].target == pytest.approx(ZERO_VU * 10 ** (-9.9 / 20))
    assert bench.settled[1].verdict is Verdict.PASS


@pytest.mark.parametrize(
    ("old", "new", "field", "says"),
    [
        ('show = "VU"\n', "", "step.1.show", "missing"),
        ('show = "VU"', 'show = "pints"', "step.1.show", "'pints' is not known"),
        ('uncertainty = "0.1 dB"\n', "", "step.1.uncertainty", "missing"),
        ('"0.1 dB"', '"0.1 Hz"', "step.1.uncertainty", "does not fit"),
        ('target = "0 VU"', 'target = "1 kHz"', "step.1.target", "no level of"),
        ('target = "0 VU"\n', "", "step.1", "belong together"),
        ('target = "0 VU"', 'target = "3 dB"', "step.1.target", "about what"),
    ],
)
def test_what_is_wrong_in_the_file_is_said(old: str, new: str, field: str, says: str) -> None:
    (_, where, message), *_ = problems(POINTER.replace(old, new))
    assert where == field
    assert says in message


def test_a_trimmer_needs_a_target() -> None:
    bare = TRIMMED.replace('target = "0 VU"\n', "").replace('tolerance = "0.2 dB"\n', "")
    ((_, _, message),) = problems(bare)
    assert "what is trimmed needs a target" in message


def test_the_same_typing_gives_the_same_values_again() -> None:
    bench = Bench(TRIMMED)
    for text in ("-1", "-0.5", "0", "0.05"):
        enter(bench, text)
    again = Engine(load_procedure_text(HEAD + TRIMMED, "test.toml"))
    assert [outcome for event in bench.events for outcome in again.apply(event)] == bench.outcomes
