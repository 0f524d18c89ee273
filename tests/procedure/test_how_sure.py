"""How sure a session's values are: the meter's share, what a comparison leaves of it, and the decision rules.

The meter is invented: 1 % of reading and 2 counts as bounds, one range of 2 V in 1 mV.
"""

import math

import pytest

from meterlog.accuracy import Accuracy, Capability, InUse, Range, Specification, Verdict
from meterlog.accuracy.appraisal import GAIN, OFFSET, READINGS
from meterlog.procedure import SettledValue
from meterlog.reading import Coupling
from tests.procedure.bench import Bench

SHARE, COUNTS, COUNT = 0.01, 2.0, 1e-3
VOLTS = Capability(
    "voltage",
    Coupling.AC,
    (Range(2.0, COUNT, 1.999),),
    accuracies=(Accuracy(reading=SHARE, counts=COUNTS),),
)
METERS = {"output": InUse("meter", Specification("A meter", 0.4, (VOLTS,)), "voltage", Coupling.AC)}
MEASURE = """
[[step]]
id = "level"
title = "Level"
pattern = "measure"
channel = "output"
target = "1 V"
tolerance = "5 %"
dwell = "0.8 s"
"""
LOUDER = """
[[step]]
id = "louder"
title = "One decibel more"
pattern = "measure"
channel = "output"
reference = "level"
target = "1 dB"
tolerance = "0.1 dB"
dwell = "0.8 s"
"""


def at(value: float, rule: str = "") -> tuple[Bench, SettledValue]:
    """The step done at a level, and its value."""
    bench = Bench(MEASURE, meters=METERS, rule=rule, noise=2e-5)
    bench.run_to(1, output=value)
    (settled,) = bench.settled
    return bench, settled


def test_a_level_is_no_surer_than_its_meter() -> None:
    _, value = at(1.0)
    lines = {line.source.name: line.contribution for line in value.budget}
    assert lines[GAIN] == pytest.approx(SHARE / math.sqrt(3))
    assert lines[OFFSET] == pytest.approx(COUNTS * COUNT / math.sqrt(3))
    assert value.standard_uncertainty == pytest.approx(math.hypot(*lines.values()))
    assert READINGS in lines


def test_a_level_about_another_is_far_surer() -> None:
    """Two readings on one range: the gain's 1 % falls out, two times two counts stay."""
    bench, ratio = Bench(MEASURE + LOUDER, meters=METERS, noise=2e-5), 10 ** (1 / 20)
    bench.run_to(1, output=1.0)
    bench.run_to(2, output=ratio)
    level, louder = bench.settled
    assert louder.about == level.number
    offsets = COUNTS * COUNT / math.sqrt(3) * math.hypot(1.0, ratio)
    assert louder.standard_uncertainty == pytest.approx(offsets, rel=0.05)
    assert louder.standard_uncertainty < 0.5 * level.standard_uncertainty
    # What is left of the gain is its 1 % of how far the level lies from the target.
    (gain,) = [line.contribution for line in louder.budget if line.source.name == GAIN]
    assert gain < 0.02 * louder.standard_uncertainty


@pytest.mark.parametrize(
    ("rule", "value", "verdict"),
    [
        ("", 1.045, Verdict.PASS),
        ('decision = "guard band"', 1.045, Verdict.FAIL),
        ('decision = "guard band"', 1.03, Verdict.PASS),
        ('decision = "four answers"', 1.045, Verdict.CONDITIONAL_PASS),
        ('decision = "four answers"', 1.055, Verdict.CONDITIONAL_FAIL),
        ('decision = "four answers"', 1.08, Verdict.FAIL),
        ('decision = "four answers"', 1.0, Verdict.PASS),
    ],
)
def test_near_a_limit_the_rule_decides(rule: str, value: float, verdict: Verdict) -> None:
    """Limits 0.95 and 1.05 V, U about 12 mV (k = 2): ILAC-G8:09/2019, guard bands of U."""
    bench, settled = at(value, rule)
    assert 0.009 < settled.expanded_uncertainty < 0.013
    assert settled.verdict is verdict
    bench.press()  # closes the session
    assert bench.outcomes[-1].verdict is verdict


def test_a_stated_risk_narrows_the_window_by_its_quantile() -> None:
    """2.5 %: 1.96 standard uncertainties (JCGM 106:2012, Table 1)."""
    for value, verdict in ((1.0375, Verdict.PASS), (1.0405, Verdict.FAIL)):
        _, settled = at(value, 'decision = "guard band"\nfalse_accept = "2.5 %"')
        distance = (1.05 - value) / settled.standard_uncertainty
        assert (distance > 1.96) == (verdict is Verdict.PASS)
        assert settled.verdict is verdict
