"""What the checker says of texts that say nothing, of times, of kinds of level, of limits nobody can mean."""

import pytest

from meterlog.procedure import ActionKind, IllegalAction, load_procedure_text
from meterlog.procedure.model import Measure, Rows
from tests.procedure.bench import HEAD, Bench
from tests.procedure.test_guard_checks import SIGN, warned
from tests.procedure.test_load import problems
from tests.procedure.test_patterns import ADJUST
from tests.procedure.test_power_down import OFF
from tests.procedure.test_safety import GATE

LAMP = ADJUST.replace('"adjust"', '"threshold"') + 'indicator = "Lamp"\n'
DC = HEAD.replace('name = "panel"', 'name = "panel"\ncoupling = "dc"')
BOTH = DC.replace('name = "output"', 'name = "output"\ncoupling = "ac"')
TONE = ADJUST.replace('"adjust"', '"set-source"')


@pytest.mark.parametrize(
    ("steps", "field", "says"),
    [
        (GATE.replace("Speakers are off.", " "), "confirm.1", "nothing but blanks"),
        (GATE.replace("One hand stays away.", "speakers  are off"), "confirm", "more than once"),
        (ADJUST.replace('title = "Level"', 'title = "  "'), "title", "nothing but blanks"),
        (ADJUST + 'setup = "   "\n', "setup", "nothing but blanks"),
        (ADJUST + 'text = "a\\u0000b"\n', "text", "control character U+0000"),
        (ADJUST + 'caution = "a\\u001b[2J"\n', "caution", "control character U+001B"),
        (ADJUST + 'hold = "0 s"\n', "hold", "no time"),
        ('[[step]]\nid = "w"\ntitle = "W"\npattern = "warm-up"\ntime = "0 s"\n' + ADJUST, "time", "no time"),
        (TONE + 'frequency = "0 Hz"\n', "frequency", "is no frequency"),
        (TONE + 'frequency = "1 V"\n', "frequency", "is no frequency"),
        (OFF.replace('"10 V"', '"400 V"'), "below", "above 50 V"),
        (OFF.replace('"10 V"', '"+4 dBu"'), "below", "no DC voltage"),
        (LAMP + 'off_target = "+5 dBu"\noff_tolerance = "0.2 dB"\n', "", "lies above the target"),
    ],
)
def test_what_cannot_be_meant_is_refused(steps: str, field: str, says: str) -> None:
    found = problems(steps)
    assert any(where == f"step.1.{field}".rstrip(".") and says in what for _, where, what in found), found


def test_a_text_may_have_several_lines() -> None:
    load_procedure_text(HEAD + ADJUST + 'text = """One.\n\tTwo."""\n', "p.toml")


@pytest.mark.parametrize(
    ("steps", "field", "says"),
    [
        (ADJUST + 'hold = "2 h"\n', "hold", "look at the unit"),
        (ADJUST.replace("0.1 dB", "100 %"), "tolerance", "reaches down to nothing"),
    ],
)
def test_what_is_hardly_meant_is_warned_of(steps: str, field: str, says: str) -> None:
    assert any(where == f"step.1.{field}" and says in what for where, what in warned(steps))


def test_levels_of_alternating_voltage_on_a_dc_channel_are_warned_of() -> None:
    on_panel = ADJUST.replace('"output"', '"panel"')
    assert any("alternating voltage" in what for _, what in warned(on_panel, DC))
    about = ADJUST.replace('"output"', '"panel"').replace('"level"', '"other"')
    about = about.replace('"+4 dBu"', '"-3 dB"') + 'reference = "level"\n'
    assert ("step.2.reference", "step 'level' is not read with coupling dc, as 'panel' is") in warned(
        ADJUST + about, BOTH
    )
    assert not any(field.endswith("reference") for field, _ in warned(ADJUST + about))


@pytest.mark.parametrize("name", ["-5 mV", "5 V", "12 Ada", "\u22125 mV"])
def test_a_reading_signs_nothing(name: str) -> None:
    bench = Bench(GATE + SIGN)
    bench.press()
    bench.press()
    with pytest.raises(IllegalAction, match="name of the person"):
        bench.act(ActionKind.ENTER, name)
    bench.act(ActionKind.ENTER, "Ada N.")


@pytest.mark.parametrize("typed", ["1e99", "-1e12 V", "1e30 mV"])
def test_a_reading_beyond_every_meter_is_refused(typed: str) -> None:
    bench = Bench('[[step]]\nid = "r"\ntitle = "R"\npattern = "manual"\nshow = "V"\nuncertainty = "10 mV"\n')
    with pytest.raises(IllegalAction, match="beyond every meter"):
        bench.act(ActionKind.ENTER, typed)
    assert not bench.settled
    bench.act(ActionKind.ENTER, "1.5")
    assert [one.value for one in bench.settled] == [1.5]


def test_a_reference_row_is_found_by_its_value() -> None:
    table = ADJUST.replace('"adjust"', '"table"').replace('target = "+4 dBu"\n', "")
    rows = '[[step.row]]\nat = "1 kHz"\n[[step.row]]\nat = "10 kHz"\nexpected = "0 dB"\n'
    step = load_procedure_text(HEAD + table + 'reference_row = "1000 Hz"\n' + rows, "p.toml").steps[0]
    assert isinstance(step, Rows)
    assert [row.label for row in step.ordered if step.is_reference(row)] == ["1 kHz"]
    ((*_, message),) = problems(table + 'reference_row = "2000 Hz"\n' + rows)
    assert "no row '2000 Hz'" in message


def test_a_judged_measurement_needs_no_settle() -> None:
    """Half the tolerance will do, as for every other pattern; without either nothing is settled."""
    judged = ADJUST.replace('"adjust"', '"measure"')
    step = load_procedure_text(HEAD + judged, "p.toml").steps[0]
    assert isinstance(step, Measure)
    assert str(step.settle_within) == "0.05 dB"
    bare = judged.replace('target = "+4 dBu"\ntolerance = "0.1 dB"\n', "")
    assert any("say with `settle`" in what for *_, what in problems(bare))
