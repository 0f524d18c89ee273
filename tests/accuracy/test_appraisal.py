"""What a session's values share. Figures are worked out beside each check; meters are invented."""

import math
import random

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy import Accuracy, Capability, Conditions, InUse, Range, Shown, Signal, Specification
from meterlog.accuracy.appraisal import GAIN, LOADING, OFFSET, READINGS, Appraisal, Observation
from meterlog.accuracy.band import Band
from meterlog.reading import Coupling

SHARE, COUNTS, COUNT = 0.02, 3.0, 1e-3


def meter(name: str = "meter", share: float = SHARE, input_ohm: float | None = None) -> InUse:
    """Two ranges, 2 V in 1 mV and 20 V in 10 mV."""
    capability = Capability(
        "voltage",
        Coupling.AC,
        (Range(2.0, COUNT, 1.999), Range(20.0, 10 * COUNT, 19.99)),
        input_ohm=input_ohm,
        accuracies=(Accuracy(reading=share, counts=COUNTS, reading_per_kelvin=share / 10.0),),
    )
    return InUse(name, Specification("A meter", 0.4, (capability,)), "voltage", Coupling.AC)


def seen(value: float, channel: str = "output", **more: float) -> Observation:
    return Observation(channel, value, 1e-4, 20.0, **more)


def test_the_lines_of_one_value() -> None:
    appraisal = Appraisal({"output": meter()})
    found = appraisal.budget(appraisal.observed(seen(1.5)))
    lines = {line.source.name: line.contribution for line in found.lines}
    assert lines == pytest.approx(
        {GAIN: SHARE * 1.5 / math.sqrt(3), OFFSET: COUNTS * COUNT / math.sqrt(3), READINGS: 1e-4}
    )
    assert found.value == 1.5


def test_a_fall_of_one_decibel_is_far_better_than_the_meter() -> None:
    """With a meter of 2 % the fall is good to 0.35 % (its counts), not to 2 % and certainly not to 2.8 %."""
    appraisal = Appraisal({"output": meter()})
    before, after = appraisal.observed(seen(1.5)), appraisal.observed(seen(1.5 * 10 ** (-1 / 20)))
    found = appraisal.budget(after / before)
    offsets = math.hypot(COUNTS * COUNT / math.sqrt(3), 1e-4)
    by_hand = offsets / 1.5 * math.hypot(1.0, 10 ** (-1 / 20))
    assert found.standard_uncertainty == pytest.approx(by_hand, rel=1e-9)
    assert found.standard_uncertainty < 0.2 * SHARE / math.sqrt(3)


def test_on_another_range_the_gain_is_another() -> None:
    appraisal = Appraisal({"output": meter()})
    found = appraisal.budget(appraisal.observed(seen(10.0)) / appraisal.observed(seen(1.0)))
    assert found.standard_uncertainty / 10.0 > SHARE / math.sqrt(3)


def test_of_two_meters_too() -> None:
    appraisal = Appraisal({"left": meter("one"), "right": meter("other")})
    ratio = appraisal.observed(seen(1.5, "left")) / appraisal.observed(seen(1.5, "right"))
    assert appraisal.budget(ratio).standard_uncertainty > SHARE / math.sqrt(3)


def test_two_channels_of_one_meter_share_it() -> None:
    appraisal = Appraisal({"left": meter("one"), "right": meter("one")})
    ratio = appraisal.observed(seen(1.5, "left")) / appraisal.observed(seen(1.5, "right"))
    assert appraisal.budget(ratio).standard_uncertainty < 0.2 * SHARE


def test_a_meter_that_loads_the_point() -> None:
    """600 ohm into 60 kohm: 0.99 % low at most."""
    appraisal = Appraisal({"output": meter(input_ohm=60e3)})
    found = appraisal.budget(appraisal.observed(seen(1.0, source_ohm=600.0)))
    (loading,) = [line for line in found.lines if line.source.name == LOADING]
    assert loading.contribution == pytest.approx(600.0 / 60600.0 / math.sqrt(3))


def test_outside_its_temperatures_it_is_less_sure() -> None:
    """Five kelvin beyond 28 degrees, a tenth of the share for each: half as much again."""
    warm = {"output": Conditions(temperature_c=33.0)}
    usual, hot = Appraisal({"output": meter()}), Appraisal({"output": meter()}, warm)
    gains = [
        next(line for line in one.budget(one.observed(seen(1.5))).lines if line.source.name == GAIN)
        for one in (usual, hot)
    ]
    assert gains[1].contribution == pytest.approx(1.5 * gains[0].contribution)


def test_a_temperature_told_meanwhile_counts_from_then_on() -> None:
    """28 degrees are inside the statement: still the same error of gain, and a ratio is free of it. At 33 it
    may be another one, half as large again."""
    appraisal = Appraisal({"output": meter()})
    before = appraisal.observed(seen(1.5))
    appraisal.at(28.0)
    same = appraisal.budget(appraisal.observed(seen(1.5)) / before)
    appraisal.at(33.0)
    hot = appraisal.observed(seen(1.5))
    gain = [
        next(line.contribution for line in appraisal.budget(one).lines if line.source.name == GAIN)
        for one in (before, hot)
    ]
    assert same.standard_uncertainty < 0.2 * SHARE
    assert gain[1] == pytest.approx(1.5 * gain[0])
    assert appraisal.budget(hot / before).standard_uncertainty > 1.5 * SHARE / math.sqrt(3)
    appraisal.at(None)
    assert appraisal.budget(appraisal.observed(seen(1.5)) / before).standard_uncertainty < 0.2 * SHARE


def test_of_a_meter_that_nobody_described_the_readings_are_all_there_is() -> None:
    appraisal = Appraisal()
    found = appraisal.budget(appraisal.observed(seen(1.5)))
    assert [line.source.name for line in found.lines] == [READINGS]
    assert (found.standard_uncertainty, found.coverage_factor) == (1e-4, 2.133)


@pytest.mark.parametrize("name", ["other", "meter"])
def test_a_meter_that_takes_over_has_its_own_gain(name: str) -> None:
    appraisal = Appraisal({"output": meter("one")})
    before = appraisal.observed(seen(1.5))
    appraisal.use({"output": meter(name)}, {})
    ratio = appraisal.budget(appraisal.observed(seen(1.5)) / before)
    assert ratio.standard_uncertainty > SHARE / math.sqrt(3)


def test_where_nobody_states_a_frequency_it_is_the_usual_one() -> None:
    """The row for 1 kHz, as the fit of a meter takes it, and not that of the band which stands first."""
    bands = (Band(3.0, 5.0), Band(5.0, 20e3))
    rows = tuple(Accuracy(reading=share, band=band) for share, band in zip((0.01, 1e-3), bands, strict=True))
    volts = Capability("voltage", Coupling.AC, (Range(2.0, COUNT, 1.999),), bands, accuracies=rows)
    in_use = InUse("meter", Specification("A meter", 0.4, (volts,)), "voltage", Coupling.AC)
    for stated, share in ((None, 1e-3), (4.0, 0.01)):
        appraisal = Appraisal({"output": in_use})
        seen_there = seen(1.5)._replace(signal=Signal(stated))
        lines = appraisal.budget(appraisal.observed(seen_there)).lines
        (gain,) = [line.contribution for line in lines if line.source.name == GAIN]
        assert gain == pytest.approx(share * 1.5 / math.sqrt(3))


@given(st.floats(0.1, 1.9), st.floats(-5.0, 5.0))
def test_a_result_by_its_partial_derivatives(value: float, sensitivity: float) -> None:
    appraisal = Appraisal({"output": meter()})
    one = appraisal.observed(seen(value))
    found = appraisal.budget(appraisal.computed(42.0, [(one, sensitivity)]))
    alone = appraisal.budget(one).standard_uncertainty
    assert found.value == 42.0
    assert found.standard_uncertainty == pytest.approx(abs(sensitivity) * alone, rel=1e-9, abs=1e-12)


@pytest.mark.parametrize("what", ["level", "fall"])
def test_ninety_five_in_a_hundred_intervals_hold_the_truth(what: str) -> None:
    """Monte Carlo after JCGM 101: errors drawn as the budget says they are spread, 400 sessions each, so
    three binomial deviations are 3.1 %. Through detector and engine, and many more: tests/trials/coverage."""
    random_ = random.Random(7)
    held = 0
    trials = 400
    for _ in range(trials):
        gain = random_.uniform(-SHARE, SHARE)
        truths = (1.5, 1.5 * 10 ** (-1 / 20))
        shown = [
            truth * (1.0 + gain) + random_.uniform(-COUNTS * COUNT, COUNTS * COUNT) + random_.gauss(0.0, 2e-3)
            for truth in truths
        ]
        appraisal = Appraisal({"output": meter()})
        first, second = (appraisal.observed(Observation("output", value, 2e-3, 1e6)) for value in shown)
        found = appraisal.budget(first if what == "level" else second / first)
        truth = truths[0] if what == "level" else truths[1] / truths[0]
        held += abs(found.value - truth) <= found.expanded_uncertainty
    assert held / trials == pytest.approx(0.9545, abs=0.031)


def test_a_reading_that_says_its_range_is_believed() -> None:
    """1.5 V on the 20 V range, told by its full scale or by its count: three counts of 10 mV, not of 1 mV."""
    appraisal = Appraisal({"output": meter()})
    for shown in (Shown(full_scale=20.0), Shown(full_scale=22.0), Shown(count=10 * COUNT)):
        found = appraisal.budget(appraisal.observed(seen(1.5)._replace(shown=shown)))
        (offset,) = [line.contribution for line in found.lines if line.source.name == OFFSET]
        assert offset == pytest.approx(COUNTS * 10 * COUNT / math.sqrt(3))


def test_two_ranges_do_not_share_the_gain_though_the_values_are_alike() -> None:
    """A meter that hangs on to its range: a ratio of equal levels then has two gains."""
    appraisal = Appraisal({"output": meter()})
    fine, coarse = (seen(1.5)._replace(shown=Shown(full_scale)) for full_scale in (2.0, 20.0))
    ratio = appraisal.budget(appraisal.observed(fine) / appraisal.observed(coarse))
    gains = [line.contribution for line in ratio.lines if line.source.name == GAIN]
    assert gains == pytest.approx([SHARE / math.sqrt(3)] * 2)


@pytest.mark.parametrize("shown", [Shown(200.0), Shown(count=0.5), Shown(), Shown(full_scale=2.0)])
def test_a_range_that_cannot_be_is_not_believed(shown: Shown) -> None:
    """12 V are beyond the 2 V range, and of 200 V this meter has none: the range that shows them counts."""
    assert meter().range_of(12.0, shown) == Range(20.0, 10 * COUNT, 19.99)
