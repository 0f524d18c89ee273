"""Targets in dB about an earlier step. 10^(-3/20) = 0.70795: the definition of the decibel, IEC 60027-3."""

import pytest

from meterlog.accuracy import Verdict
from meterlog.procedure import ActionKind, IllegalAction, Role
from tests.procedure.bench import Bench
from tests.procedure.test_load import problems

TONE = """
[[step]]
id = "tone"
title = "Tone"
pattern = "set-source"
channel = "panel"
target = "100 mV"
tolerance = "1 dB"
hold = "0.4 s"
"""
DOWN_3_DB = """
[[step]]
id = "corner"
title = "Corner"
pattern = "measure"
channel = "output"
reference = "tone"
target = "-3 dB"
tolerance = "0.2 dB"
settle = "0.1 dB"
"""


def test_what_a_source_came_to_is_the_0_db_of_later_steps() -> None:
    bench = Bench(TONE + DOWN_3_DB)
    bench.run(6, panel=0.105, output=0.105 * 0.70795)
    tone, corner = bench.settled
    assert tone.role is Role.SOURCE
    assert corner.target == pytest.approx(0.70795 * tone.value, rel=1e-4)
    assert corner.verdict is Verdict.PASS


def test_each_pass_rests_on_its_own_source() -> None:
    adjust = DOWN_3_DB.replace('"measure"', '"adjust"').replace("corner", "level")
    bench = Bench(TONE + adjust)
    bench.run_to(2, panel=0.100, output=0.0708)
    bench.run_to(4, panel=0.110, output=0.0779)
    as_found, adjusted = [value for value in bench.settled if value.step == "level"]
    assert as_found.target == pytest.approx(0.0708, rel=2e-3)
    assert adjusted.target == pytest.approx(0.0779, rel=2e-3)


def test_without_its_reference_a_step_can_only_be_left() -> None:
    bench = Bench(TONE + DOWN_3_DB)
    bench.act(ActionKind.SKIP, "no oscillator here")
    bench.run(4, output=0.07)
    assert "tone came to no value" in bench.engine.view().guide.do_now
    with pytest.raises(IllegalAction, match="redo that step, or skip this one"):
        bench.press()
    bench.act(ActionKind.SKIP, "nothing to judge by")
    assert not bench.settled


@pytest.mark.parametrize(
    ("old", "new", "field", "says"),
    [
        ('reference = "tone"\n', "", "step.2.target", "-3 dB about what"),
        ('target = "-3 dB"', 'target = "70 mV"', "step.2.target", "in dB about that step"),
        ('reference = "tone"', 'reference = "tune"', "step.2.reference", "steps with a value are tone"),
        ('reference = "tone"', 'reference = "corner"', "step.2.reference", "no step 'corner' comes before"),
    ],
)
def test_a_reference_that_does_not_work_is_said(old: str, new: str, field: str, says: str) -> None:
    ((_, where, message),) = problems(TONE + DOWN_3_DB.replace(old, new))
    assert where == field
    assert says in message
