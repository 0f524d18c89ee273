"""Tables: row after row, about a reference row, with the source set by hand, seen by a meter or driven.

The expected curve is that of IEC 60098 (see tests/quantity/test_equalisers.py);
the figures at 100 Hz (+13.09 dB) and 10 kHz (-13.73 dB) stand here once more. Everything else is made up.
"""

import re

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import Acted, ActionKind, Engine, IllegalAction, Measured, StepEnded, Ticked
from meterlog.quantity import Unit, ratio_from_db
from tests.procedure.bench import NS, PERIOD_S, Bench
from tests.procedure.test_load import problems

COUNTER = """
[[channel]]
name = "counter"
unit = "Hz"
"""
TABLE = """
[[step]]
id = "curve"
title = "Replay curve"
pattern = "table"
channel = "output"
curve = "riaa"
reference_row = "1 kHz"
tolerance = "0.5 dB"
settle = "0.1 dB"
"""
THREE = """
[[step.row]]
at = "100 Hz"
[[step.row]]
at = "1 kHz"
[[step.row]]
at = "10 kHz"
"""
PLAIN = """
[[step]]
id = "scale"
title = "Scale"
pattern = "table"
channel = "output"
frequency = "1 kHz"
settle = "0.1 dB"
[[step.row]]
at = "-10 dBu"
expected = "0.245 V"
tolerance = "0.2 dB"
[[step.row]]
at = "0 dBu"
name = "line level"
expected = "0.775 V"
tolerance = "0.2 dB"
"""
AT_1_KHZ, AT_100_HZ, AT_10_KHZ = 0.5, 0.5 * ratio_from_db(13.09), 0.5 * ratio_from_db(-13.73)


def words(bench: Bench) -> str:
    return bench.engine.view().guide.do_now


def ended(bench: Bench) -> StepEnded:
    return next(one for one in bench.outcomes if isinstance(one, StepEnded))


def run(bench: Bench, seconds: float, output: float, hertz: float) -> None:
    """As `Bench.run`, with a counter beside the meter."""
    for _ in range(round(seconds / PERIOD_S)):
        bench.now_s += PERIOD_S
        at_ns = round(bench.now_s * NS)
        bench.give(Measured(at_ns, bench.reading("counter", hertz, unit=Unit.HERTZ, resolution=0.01)))
        bench.give(Measured(at_ns, bench.reading("output", output)))
        bench.give(Ticked(at_ns))


def replayed(bench: Bench) -> bool:
    again = Engine(bench.engine.procedure)
    return [one for event in bench.events for one in again.apply(event)] == bench.outcomes


def by_hand(bench: Bench, level: float, seconds: float = 4) -> None:
    bench.press()
    bench.run(seconds, output=level)


def test_the_reference_is_taken_first_and_the_others_are_judged_about_it() -> None:
    bench = Bench(TABLE + THREE)
    assert words(bench) == "Set the source to 1 kHz, then press."
    by_hand(bench, AT_1_KHZ)
    assert words(bench) == "Set the source to 100 Hz, then press."
    by_hand(bench, AT_100_HZ)
    by_hand(bench, AT_10_KHZ)
    one, low, high = bench.settled
    assert [value.condition for value in bench.settled] == ["1 kHz", "100 Hz", "10 kHz"]
    assert (one.verdict, one.target) == (Verdict.NOT_JUDGED, None)
    assert low.target == pytest.approx(one.value * ratio_from_db(13.09), rel=1e-3)
    assert high.target == pytest.approx(one.value * ratio_from_db(-13.73), rel=1e-3)
    assert low.verdict is high.verdict is Verdict.PASS
    assert ended(bench).verdict is Verdict.PASS
    assert replayed(bench)


def test_nothing_is_taken_before_the_pedal_says_that_the_source_is_set() -> None:
    bench = Bench(TABLE + THREE)
    bench.run(8, output=AT_1_KHZ)
    assert not bench.settled
    guide = bench.engine.view().guide
    assert guide.awaiting_go_on
    assert guide.present == pytest.approx(AT_1_KHZ, rel=1e-3)


def test_what_was_steady_before_the_pedal_is_no_evidence_after_it() -> None:
    bench = Bench(TABLE + THREE)
    bench.run(4, output=0.9)
    bench.press()
    bench.run(0.4, output=0.9)
    assert not bench.settled


def test_the_worst_row_is_the_verdict_and_waits_for_the_pedal() -> None:
    bench = Bench(TABLE + THREE)
    for level in (AT_1_KHZ, AT_100_HZ, 1.15 * AT_10_KHZ):
        by_hand(bench, level)
    assert "outside: 10 kHz" in words(bench)
    assert bench.engine.place == 0
    bench.press()
    assert ended(bench).verdict is Verdict.FAIL
    assert ended(bench).reason == "outside: 10 kHz"


@pytest.mark.parametrize("kind", [ActionKind.BREAK_OFF, ActionKind.SKIP])
def test_a_row_that_has_failed_is_not_forgotten_where_the_table_is_left(kind: ActionKind) -> None:
    bench = Bench(TABLE + THREE)
    for level in (AT_1_KHZ, AT_100_HZ, 1.15 * AT_10_KHZ):
        by_hand(bench, level)
    bench.act(kind, "no time")
    assert ended(bench).verdict is Verdict.FAIL


def test_one_row_can_be_taken_again_and_stands_in_for_the_first() -> None:
    bench = Bench(TABLE + THREE)
    for level in (AT_1_KHZ, AT_100_HZ, 1.15 * AT_10_KHZ):
        by_hand(bench, level)
    bench.act(ActionKind.REDO_ROW)
    by_hand(bench, AT_10_KHZ)
    slip, value = bench.settled[-2:]
    assert (value.condition, value.replaces) == ("10 kHz", slip.number)
    assert ended(bench).verdict is Verdict.PASS
    assert replayed(bench)


def test_a_named_row_is_redone_before_what_is_still_to_do() -> None:
    bench = Bench(TABLE + THREE)
    by_hand(bench, AT_1_KHZ)
    by_hand(bench, AT_100_HZ)
    with pytest.raises(IllegalAction, match="no row '10 kHz' has been taken; taken are 1 kHz, 100 Hz"):
        bench.act(ActionKind.REDO_ROW, "10 kHz")
    bench.act(ActionKind.REDO_ROW, "100 Hz")
    assert "100 Hz" in words(bench)
    by_hand(bench, AT_100_HZ)
    assert "10 kHz" in words(bench)


def test_the_reference_redone_takes_all_that_was_judged_by_it_with_it() -> None:
    bench = Bench(TABLE + THREE)
    by_hand(bench, AT_1_KHZ)
    by_hand(bench, AT_100_HZ)
    bench.act(ActionKind.REDO_ROW, "1 kHz")
    for level in (2 * AT_1_KHZ, 2 * AT_100_HZ, 2 * AT_10_KHZ):
        by_hand(bench, level)
    assert ended(bench).verdict is Verdict.PASS
    assert [value.replaces for value in bench.settled] == [None, None, 1, 2, None]


def test_a_row_left_out_says_why_and_leaves_the_table_unjudged() -> None:
    bench = Bench(TABLE + THREE)
    with pytest.raises(IllegalAction, match="the others are judged by 1 kHz"):
        bench.act(ActionKind.SKIP_ROW, "no tone")
    by_hand(bench, AT_1_KHZ)
    with pytest.raises(IllegalAction, match="say why"):
        bench.act(ActionKind.SKIP_ROW)
    bench.act(ActionKind.SKIP_ROW, "hum is louder")
    by_hand(bench, AT_10_KHZ)
    assert ended(bench).verdict is Verdict.NOT_JUDGED
    assert ended(bench).reason == "100 Hz left out: hum is louder"
    assert replayed(bench)


def test_after_a_pause_the_table_begins_again_and_later_values_replace_the_earlier() -> None:
    bench = Bench(TABLE + THREE)
    by_hand(bench, AT_1_KHZ)
    bench.act(ActionKind.PAUSE)
    bench.act(ActionKind.RESUME)
    assert words(bench) == "Set the source to 1 kHz, then press."
    by_hand(bench, AT_1_KHZ)
    assert [value.replaces for value in bench.settled] == [None, 1]


def test_levels_of_the_source_with_expectations_of_their_own() -> None:
    bench = Bench(PLAIN)
    assert words(bench) == "Set the source to 1 kHz and -10 dBu, then press."
    by_hand(bench, 0.246)
    by_hand(bench, 0.775)
    assert [value.condition for value in bench.settled] == ["-10 dBu", "line level"]
    assert ended(bench).verdict is Verdict.PASS


def test_an_earlier_step_can_be_the_reference() -> None:
    gain = """
[[step]]
id = "gain"
title = "Gain"
pattern = "measure"
channel = "output"
settle = "0.1 dB"
"""
    about = TABLE.replace('reference_row = "1 kHz"', 'reference = "gain"')
    bench = Bench(gain + about + THREE.replace("1 kHz", "500 Hz"))
    bench.run_to(1, output=AT_1_KHZ)
    by_hand(bench, AT_100_HZ)
    by_hand(bench, AT_1_KHZ * ratio_from_db(2.65))  # the curve is about 1 kHz: IEC 60098 at 500 Hz
    by_hand(bench, AT_10_KHZ)
    assert {value.verdict for value in bench.settled[1:]} == {Verdict.PASS}


def test_a_row_with_a_setup_of_its_own_at_the_same_setting_needs_one_press() -> None:
    ranges = PLAIN.replace('at = "0 dBu"', 'at = "-10 dBu"\nsetup = "Range switch to 1 V."')
    bench = Bench(ranges)
    by_hand(bench, 0.245)
    assert words(bench) == "Range switch to 1 V. Then press."
    by_hand(bench, 0.775)
    assert ended(bench).verdict is Verdict.PASS


def test_without_rows_a_curve_has_the_usual_ones() -> None:
    bench = Bench(TABLE)
    (step,) = bench.engine.procedure.steps
    assert [row.label for row in step.rows][:3] == ["20 Hz", "30 Hz", "50 Hz"]  # type: ignore[union-attr]
    assert [row.label for row in step.rows][-1] == "20 kHz"  # type: ignore[union-attr]


def test_where_a_meter_sees_the_frequency_no_pedal_is_needed() -> None:
    bench = Bench(COUNTER + TABLE + 'frequency_channel = "counter"\n' + THREE)
    run(bench, 2, 0.2, 440.0)
    guide = bench.engine.view().guide
    assert not guide.awaiting_go_on
    assert guide.do_now == "Set the source to 1 kHz. The channel counter shows 0.4400 kHz."
    for hertz, level in ((1003.0, AT_1_KHZ), (99.0, AT_100_HZ), (10_050.0, AT_10_KHZ)):
        run(bench, 5, level, hertz)
    assert [value.condition for value in bench.settled] == ["1 kHz", "100 Hz", "10 kHz"]
    assert ended(bench).verdict is Verdict.PASS
    assert replayed(bench)


def test_a_frequency_beyond_its_tolerance_takes_nothing_however_still_the_level_is() -> None:
    bench = Bench(COUNTER + TABLE + 'frequency_channel = "counter"\n' + THREE)
    run(bench, 10, AT_1_KHZ, 1021.0)
    assert not bench.settled
    with pytest.raises(IllegalAction, match="taken by itself"):
        bench.press()
    run(bench, 5, AT_1_KHZ, 1019.0)
    assert [value.condition for value in bench.settled] == ["1 kHz"]


def test_a_level_settled_while_the_frequency_was_wrong_is_no_evidence() -> None:
    bench = Bench(COUNTER + TABLE + 'frequency_channel = "counter"\n' + THREE)
    run(bench, 4, 0.3, 900.0)
    run(bench, 0.6, 0.3, 1000.0)
    assert not bench.settled


def test_a_counter_that_fell_silent_proves_nothing() -> None:
    bench = Bench(COUNTER + TABLE + 'frequency_channel = "counter"\n' + THREE)
    run(bench, 0.8, AT_1_KHZ, 1000.0)
    bench.run(10, output=AT_1_KHZ)
    assert not bench.settled


# -- the source driven by the bench ----------------------------------------------------------------


def test_a_driven_source_needs_no_pedal_and_is_in_the_record() -> None:
    bench = Bench(TABLE + 'level = "5 mV"\n' + THREE)
    for hertz, level in ((1000.0, AT_1_KHZ), (100.0, AT_100_HZ), (10_000.0, AT_10_KHZ)):
        wanted = bench.engine.view().guide.source
        assert wanted is not None
        assert (wanted.frequency_hz, wanted.level_v) == (hertz, pytest.approx(0.005))
        bench.act(ActionKind.SOURCE_ASKED)
        guide = bench.engine.view().guide
        assert guide.source is None
        assert not guide.awaiting_go_on
        assert guide.do_now.startswith("Setting the source to")
        bench.run(3, output=level)
        bench.act(ActionKind.SOURCE_SET, f"{hertz:g} Hz, 0.005 V")
        bench.run(4, output=level)
    assert len(bench.settled) == 3
    assert ended(bench).verdict is Verdict.PASS
    said = [event.text for event in bench.events if isinstance(event, Acted) and "Hz" in event.text]
    assert said == ["1000 Hz, 0.005 V", "100 Hz, 0.005 V", "10000 Hz, 0.005 V"]
    assert replayed(bench)


def test_nothing_counts_while_the_source_is_being_set() -> None:
    bench = Bench(TABLE + THREE)
    bench.act(ActionKind.SOURCE_ASKED)
    bench.run(6, output=AT_1_KHZ)
    assert not bench.settled
    with pytest.raises(IllegalAction, match="the source is being set"):
        bench.press()


def test_a_source_that_failed_is_told_and_the_row_is_set_by_hand() -> None:
    bench = Bench(TABLE + THREE)
    bench.act(ActionKind.SOURCE_ASKED)
    bench.act(ActionKind.SOURCE_FAILED, "it reads back 900 Hz")
    assert words(bench) == (
        "The bench could not set the source: it reads back 900 Hz. "
        "Set the source to 1 kHz by hand, then press."
    )
    assert bench.engine.view().guide.source is None, "it is not asked again and again"
    by_hand(bench, AT_1_KHZ)
    assert len(bench.settled) == 1
    assert bench.engine.view().guide.source is not None, "the next row is tried again"
    assert replayed(bench)


def test_a_late_answer_of_the_source_is_refused_and_changes_nothing() -> None:
    bench = Bench(TABLE + THREE)
    for kind in (ActionKind.SOURCE_SET, ActionKind.SOURCE_FAILED):
        with pytest.raises(IllegalAction, match="no source is to be set now"):
            bench.act(kind, "1000 Hz")
    bench.act(ActionKind.SOURCE_ASKED)
    bench.act(ActionKind.PAUSE)
    with pytest.raises(IllegalAction):
        bench.act(ActionKind.SOURCE_SET, "1000 Hz")
    bench.act(ActionKind.RESUME)
    assert bench.engine.view().guide.source is not None, "asked anew after the pause"


def test_a_driven_source_is_still_looked_at_by_the_counter() -> None:
    bench = Bench(COUNTER + TABLE + 'frequency_channel = "counter"\n' + THREE)
    bench.act(ActionKind.SOURCE_ASKED)
    bench.act(ActionKind.SOURCE_SET, "1000 Hz")
    run(bench, 6, AT_1_KHZ, 500.0)
    assert not bench.settled
    assert "The channel counter shows" in words(bench)
    run(bench, 4, AT_1_KHZ, 1000.0)
    assert len(bench.settled) == 1


def test_steps_without_rows_or_source_refuse_both() -> None:
    bench = Bench(
        PLAIN.split("[[step.row]]")[0].replace('"table"', '"measure"').replace('frequency = "1 kHz"', "")
    )
    for kind in (ActionKind.REDO_ROW, ActionKind.SKIP_ROW, ActionKind.SOURCE_SET):
        with pytest.raises(IllegalAction):
            bench.act(kind, "x")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ('curve = "riaa"\n', "", "needs rows|say with|expectations|reference_row"),
        ('curve = "riaa"', 'curve = "ria"', "riaa"),
        ('reference_row = "1 kHz"', 'reference_row = "1.1 kHz"', "no row '1.1 kHz'"),
        ('reference_row = "1 kHz"\n', "", "about a row or a step"),
        ('reference_row = "1 kHz"', 'reference_row = "1 kHz"\nreference = "x"', "not both"),
        ('tolerance = "0.5 dB"\n', "", "give it a tolerance"),
        ('settle = "0.1 dB"', 'frequency = "1 kHz"', "where the rows are levels"),
        ('settle = "0.1 dB"', 'level = "1 kHz"', "in V or dBu"),
        ('settle = "0.1 dB"', 'frequency_tolerance = "1 dB"', "in % or Hz"),
        ('settle = "0.1 dB"', 'frequency_channel = "count"', "no channel 'count'"),
        ('settle = "0.1 dB"', 'frequency_channel = "panel"', "is in V"),
        ('settle = "0.1 dB"', 'settle = "1 Hz"', "does not fit"),
    ],
)
def test_a_table_that_cannot_be_run_is_refused(old: str, new: str, says: str) -> None:
    rows = "" if "needs rows" in says else THREE
    assert old in TABLE
    found = problems(TABLE.replace(old, new) + rows)
    assert any(re.search(says, message) for *_, message in found), found


@pytest.mark.parametrize(
    ("row", "says"),
    [
        ('at = "0 dBu"', "frequency in every row or a level"),
        ('at = "1 kHz"', "two rows have one name"),
        ('at = "0 Hz"', "cannot be set"),
        ('at = "2 kHz"\nexpected = "-3 dB"', "leave `expected` out"),
        ('at = "2 kHz"\ntolerance = "1 Hz"', "does not fit"),
    ],
)
def test_a_row_that_makes_no_sense_is_refused(row: str, says: str) -> None:
    found = problems(TABLE + THREE + "[[step.row]]\n" + row)
    assert any(says in message for *_, message in found), found


def test_rows_that_the_counter_cannot_tell_apart_are_refused() -> None:
    near = THREE + '[[step.row]]\nat = "1.03 kHz"\n'
    found = problems(COUNTER + TABLE + 'frequency_channel = "counter"\n' + near)
    says = "1 kHz and 1.03 kHz differ by less than frequency_tolerance"
    assert any(says in message for *_, message in found)
