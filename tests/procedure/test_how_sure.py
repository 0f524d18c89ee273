"""How sure a session's values are: the meter's share, what a comparison leaves of it, and the decision rules.

The meter is invented: 1 % of reading and 2 counts as bounds, one range of 2 V in 1 mV.
"""

import dataclasses
import math

import pytest

from meterlog.accuracy import Accuracy, Capability, InUse, Range, Specification, Verdict
from meterlog.accuracy.appraisal import GAIN, OFFSET, READINGS
from meterlog.procedure import SettledValue
from meterlog.reading import Coupling
from tests.procedure.bench import Bench
from tests.procedure.test_patterns import edges

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


TWO_RANGES = dataclasses.replace(VOLTS, ranges=(*VOLTS.ranges, Range(20.0, 10 * COUNT, 19.99)))


@pytest.mark.parametrize(("second", "gains"), [(2.0, 0), (20.0, 2)])
def test_the_gain_falls_out_only_on_the_range_that_the_readings_say(second: float, gains: int) -> None:
    """1.12 V would be read on the 2 V range; a meter that stays on 20 V has another gain there."""
    meter = InUse("meter", Specification("A meter", 0.4, (TWO_RANGES,)), "voltage", Coupling.AC)
    bench = Bench(MEASURE + LOUDER, meters={"output": meter}, noise=2e-5)
    bench.fields = {"range_max": 2.0}
    bench.run_to(1, output=1.0)
    bench.fields = {"range_max": second}
    bench.run_to(2, output=10 ** (1 / 20))
    found = [line for line in bench.settled[-1].budget if line.source.name == GAIN]
    assert len([line for line in found if line.contribution > 1e-3]) == gains
    replayed = Bench(MEASURE + LOUDER, meters={"output": meter})
    outcomes = [outcome for event in bench.events[1:] for outcome in replayed.engine.apply(event)]
    assert outcomes == bench.outcomes


WATCH = """
[[step]]
id = "stays"
title = "Stays"
pattern = "stability"
setup = "Close the lid."
channel = "output"
time = "10 s"
drift_per_minute = "1 %"
"""
SIDES = """
[[step]]
id = "balance"
title = "Balance"
pattern = "match"
move = "right"
trim = "R22"
tolerance = "0.1 dB"
[[step.side]]
name = "left"
channel = "output"
setup = "Probe on the left."
[[step.side]]
name = "right"
channel = "output"
setup = "Probe on the right."
"""


def test_sides_on_one_meter_agree_whatever_its_gain() -> None:
    """0.1 dB are 1.2 %, and the meter's U is 1 %: a guard band of its whole error would leave nothing."""
    bench = Bench(SIDES, meters=METERS, rule='decision = "guard band"', noise=2e-5)
    for level in (1.0, 1.001):
        bench.press()
        bench.run(10, output=level)
    left, right, apart = bench.settled
    assert right.about == left.number
    assert right.expanded_uncertainty == pytest.approx(apart.expanded_uncertainty, rel=0.05)
    assert [value.verdict for value in bench.settled] == [Verdict.NOT_JUDGED, Verdict.PASS, Verdict.PASS]


def watched(window: str, level: float) -> Bench:
    bench = Bench(WATCH + window, meters=METERS, rule='decision = "guard band"', noise=2e-5)
    bench.press()
    bench.run(60, output=level)
    return bench


def test_what_stays_near_its_start_is_judged_by_that() -> None:
    """Within 1 %, which is no more than the gain of the meter that both have in common."""
    start, furthest, end = watched('within = "1 %"', 1.0).settled
    assert start.verdict is Verdict.NOT_JUDGED
    assert (furthest.about, end.about) == (start.number, start.number)
    assert (furthest.verdict, end.verdict) == (Verdict.PASS, Verdict.PASS)


def test_what_stays_in_a_stated_window_is_as_sure_as_its_meter() -> None:
    """5 % of 1 V, U about 12 mV: at 1.045 V no value is inside by more than that."""
    values = watched('target = "1 V"\ntolerance = "5 %"', 1.045).settled
    assert [value.about for value in values] == [None, None, None]
    assert all(0.009 < value.expanded_uncertainty < 0.013 for value in values)
    assert [value.verdict for value in values] == [Verdict.FAIL] * 3


LAMP = """
[[step]]
id = "lamp"
title = "Lamp"
pattern = "threshold"
channel = "output"
indicator = "lamp"
target = "1 V"
tolerance = "0.5 dB"
hysteresis = "0.5 dB"
"""


def test_how_far_apart_on_and_off_lie_is_as_sure_as_two_readings_on_one_range() -> None:
    """Off 10 mV below on, the meter's U at either: its gain has no part in how far they are apart."""
    bench = Bench(LAMP, meters=METERS, rule='decision = "guard band"', noise=2e-5)
    edges(bench, 1.0, 0.99)
    lit, unlit = bench.settled
    assert unlit.about == lit.number
    assert unlit.expanded_uncertainty < 0.7 * lit.expanded_uncertainty
    assert (lit.verdict, unlit.verdict) == (Verdict.PASS, Verdict.PASS)


@pytest.mark.parametrize("rule", ['decision = "guard band"', 'decision = "four answers"'])
def test_a_rule_by_the_uncertainty_passes_nothing_of_a_meter_that_nobody_described(rule: str) -> None:
    """Its readings' scatter alone would pass more easily than a good meter's whole uncertainty."""
    inside, outside = (Bench(MEASURE, rule=rule) for _ in range(2))
    inside.run_to(1, output=1.0)
    outside.run_to(1, output=1.2)
    assert [value.verdict for value in inside.settled] == [Verdict.NOT_JUDGED]
    assert [value.verdict for value in outside.settled] == [Verdict.FAIL]
    inside.press()
    assert inside.outcomes[-1].verdict is Verdict.NOT_JUDGED


def test_by_the_limits_alone_it_is_judged_as_ever() -> None:
    bench = Bench(MEASURE)
    bench.run_to(1, output=1.0)
    assert [value.verdict for value in bench.settled] == [Verdict.PASS]
