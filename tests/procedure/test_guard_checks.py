"""Guards that would trip though all goes as it should; gates that stand before nothing. Invented limits."""

import pytest

from meterlog.procedure import load_procedure_text, warnings_in
from tests.procedure.bench import HEAD
from tests.procedure.test_load import problems
from tests.procedure.test_patterns import ADJUST
from tests.procedure.test_power_down import OFF
from tests.procedure.test_safety import GATE

MEASURE = ADJUST.replace("adjust", "measure") + 'settle = "0.1 dB"\n'
SIGN = '[[step]]\nid = "name"\ntitle = "Name"\npattern = "sign"\n'


def guard(limit: str, channel: str = "panel", rest: str = "") -> str:
    return f'[[guard]]\nname = "Limit"\nchannel = "{channel}"\n{limit}\n{rest}\n'


def warned(steps: str, head: str = HEAD) -> list[tuple[str, str]]:
    found = warnings_in(load_procedure_text(head + steps, "p.toml"), "p.toml")
    return [(one.field, one.message) for one in found]


@pytest.mark.parametrize(
    ("limit", "field"),
    [
        ('never_above = "50 mV"', "never_above"),
        ('never_above = "10 V"', "never_above"),  # the charge was above that when it began
        ('never_below = "1 mV"', "never_below"),
    ],
)
def test_a_limit_that_switching_off_passes_is_refused(limit: str, field: str) -> None:
    ((_, where, message),) = problems(guard(limit) + ADJUST + OFF)
    assert where == f"guard.1.{field}"
    assert "would trip" in message
    assert "to_step at an earlier step" in message


@pytest.mark.parametrize("limit", ['never_above = "40 V"', 'never_below = "-50 mV"', 'never_below = "0 V"'])
def test_a_limit_that_switching_off_does_not_pass_may_watch_it(limit: str) -> None:
    load_procedure_text(HEAD + guard(limit) + ADJUST + OFF, "p.toml")


def test_an_upper_limit_of_another_channel_says_nothing_of_the_charge() -> None:
    load_procedure_text(HEAD + guard('never_above = "2 V"', "output") + ADJUST + OFF, "p.toml")


@pytest.mark.parametrize("field", ["from_step", "to_step"])
def test_of_a_guard_whose_steps_are_not_there_only_that_is_said(field: str) -> None:
    found = problems(guard('never_below = "1 V"', rest=f'{field} = "nowhere"') + ADJUST + OFF)
    assert [(where, message[:17]) for _, where, message in found] == [
        (f"guard.1.{field}", "no step 'nowhere'")
    ]


@pytest.mark.parametrize("limit", ['never_above = "1 V"', 'never_below = "2 V"'])
def test_a_level_beyond_a_guard_is_refused(limit: str) -> None:
    """+4 dBu is 1.228 V."""
    ((_, where, message),) = problems(guard(limit, "output") + ADJUST)
    assert where == "step.1.target"
    assert "where the guard 'Limit' would trip" in message


@pytest.mark.parametrize(
    ("limit", "told"),
    [
        ('never_above = "+4.1 dBu"', True),  # on the edge
        ('never_above = "+4.05 dBu"', True),
        ('never_above = "+4.2 dBu"', False),
        ('never_below = "+3.95 dBu"', True),
        ('never_below = "+3.8 dBu"', False),
    ],
)
def test_a_limit_inside_the_window_is_warned_of(limit: str, told: bool) -> None:
    found = [field for field, message in warned(guard(limit, "output") + ADJUST) if "can trip it" in message]
    assert found == (["step.1.target"] if told else [])


def test_a_level_outside_the_range_of_a_guard_is_nobodys_concern() -> None:
    later = ADJUST.replace('id = "level"', 'id = "later"').replace("+4 dBu", "-10 dBu")
    steps = guard('never_above = "1 V"', "output", 'from_step = "later"') + ADJUST + later
    assert not any("guard 'Limit' would" in message for _, message in warned(steps))


def test_a_source_turned_up_to_a_guard_is_warned_of() -> None:
    lamp = ADJUST.replace('"adjust"', '"threshold"') + 'indicator = "Lamp"\nno_higher_than = "+8 dBu"\n'
    found = warned(guard('never_above = "+6 dBu"', "output") + lamp)
    assert ("step.1.no_higher_than", "the guard 'Limit' would trip first, at +6 dBu; write less") in found


def test_a_gate_behind_all_the_work_is_warned_of() -> None:
    (message,) = [message for field, message in warned(MEASURE + GATE + SIGN) if field == "step.2"]
    assert message == "nothing is done behind this gate; move it before the steps that it is for"
    assert not any("gate" in message for _, message in warned(GATE + MEASURE + SIGN))
    assert not any("behind this gate" in message for _, message in warned(MEASURE + GATE + OFF + SIGN))
    assert any("no pass runs this step" in message for _, message in warned(ADJUST + GATE + SIGN))


def test_a_guard_from_a_gate_at_the_end_is_not_to_be_turned_round() -> None:
    found = problems(
        guard('never_above = "5 V"', rest='from_step = "gate"\nto_step = "level"') + ADJUST + GATE
    )
    assert any("move the gate 'gate' before" in message for *_, message in found), found
