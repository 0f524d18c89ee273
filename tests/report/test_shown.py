"""How a settled value is written: against the worked examples of the guide, and at the edges of scales."""

import math
import random
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.procedure import Pass, SettledValue
from meterlog.quantity import DBU, MICROVOLT, MILLIVOLT, VOLT, Scale
from meterlog.report.shown import scale_for, shown, sides
from tests.report.story import NEAR_4_DBU, Story, dbu


def settled(
    value: float,
    expanded: float,
    target: float | None = None,
    window: tuple[float, float] | None = None,
) -> SettledValue:
    story = Story()
    return story.capture(
        "level", Pass.AS_FOUND, value, uncertainty=expanded / 2.13, target=target, window=window
    )


# JCGM 100:2008, the figures of 7.2.2 to 7.2.6 (from memory): (100.021 47 +- 0.000 79) g;
# 10.057 62 with 27 milli becomes 10.058; 10.47 may be rounded up to 11.
@pytest.mark.parametrize(
    ("value", "expanded", "text", "uncertainty"),
    [
        (100.02147, 0.00079, "100.02147", "0.00079"),
        (10.05762, 0.027, "10.058", "0.027"),
        (1250.0, 10.47, "1250", "11"),
    ],
)
def test_value_ends_where_its_uncertainty_ends(
    value: float, expanded: float, text: str, uncertainty: str
) -> None:
    texts = shown(settled(value, expanded), VOLT)
    assert (texts.value, texts.uncertainty) == (text, f"± {uncertainty}")


# The usual table of dBu against volts printed to four decimals (0 dBu is 0.775 V in ITU-R V.574, exactly
# the root of 0.6 V squared); 0.00005 V of rounding are 0.006 dB at -20 dBu.
@pytest.mark.parametrize(("volts", "level"), [(1.2277, 4.0), (0.0775, -20.0), (0.7746, 0.0), (6.1528, 18.0)])
def test_level_of_a_voltage(volts: float, level: float) -> None:
    texts = shown(settled(volts, volts * 0.01), DBU)
    assert float(texts.value) == pytest.approx(level, abs=0.006)
    assert texts.unit == "dBu"


# 1.16 % is 0.1 dB and 0.58 % is 0.05 dB, the usual table of small differences of level (calculated).
@pytest.mark.parametrize(("percent", "db"), [(1.16, 0.1), (0.58, 0.05)])
def test_uncertainty_of_a_level_in_db(percent: float, db: float) -> None:
    assert sides(settled(1.0, percent / 100.0), DBU) == pytest.approx((db, db), rel=0.015)


def test_deviation_and_window_of_a_level() -> None:
    texts = shown(settled(dbu(3.4), dbu(3.4) * 0.002, dbu(4.0), NEAR_4_DBU), DBU)
    assert (texts.target, texts.low, texts.high, texts.deviation) == ("+4.00", "+3.90", "+4.10", "-0.600")


def test_a_coarse_uncertainty_does_not_hide_on_which_side_of_a_limit_the_value_lies() -> None:
    texts = shown(settled(dbu(4.13), 0.5, dbu(4.0), NEAR_4_DBU), DBU)
    assert (texts.value, texts.high) == ("+4.13", "+4.10")


def test_negative_volts_and_a_target_of_nothing() -> None:
    texts = shown(settled(-0.0123, 0.00011, 0.0, (-0.001, 0.001)), MILLIVOLT)
    assert (texts.value, texts.uncertainty, texts.unit) == ("-12.30", "± 0.11", "mV")
    assert (texts.target, texts.low, texts.high, texts.deviation) == ("0.0", "-1.0", "1.0", "-12.30")


@pytest.mark.parametrize("volts", [0.0, -0.3])
def test_a_level_that_has_no_logarithm_is_shown_in_volts(volts: float) -> None:
    assert shown(settled(volts, 0.001), DBU).unit == "V"


def test_no_uncertainty_at_all_still_gives_a_number() -> None:
    assert shown(settled(1.5, 0.0), VOLT).uncertainty == "± 0.000"


def test_minus_nothing_is_nothing() -> None:
    assert shown(settled(-1e-9, 0.001), VOLT).value == "0.0000"


# 20 lg of 1.5, 0.5 and 1.1, 0.9, as anybody computes them: 3.52, -6.02, 0.83, -0.92.
@pytest.mark.parametrize(
    ("expanded", "text"),
    [(0.5, "+3.6 -6.1"), (0.1, "+0.83 -0.92"), (1.0, "+6.1 -∞"), (1.2, "+6.9 -∞"), (0.001, "± 0.009")],
)
def test_in_dB_both_sides_are_written_where_they_differ(expanded: float, text: str) -> None:
    assert shown(settled(1.0, expanded), DBU).uncertainty == text


@given(
    st.floats(-1000.0, 1000.0).filter(lambda v: abs(v) > 1e-6),
    st.floats(1e-9, 10.0),
    st.sampled_from([VOLT, MILLIVOLT, MICROVOLT, DBU]),
)
def test_an_uncertainty_is_never_shown_smaller_than_it_is(
    value: float, expanded: float, scale: Scale
) -> None:
    record = settled(value, expanded)
    texts = shown(record, scale)
    used = scale if texts.unit == scale.symbol else VOLT
    down, up = sides(record, used)
    written = [float(text.replace("∞", "inf")) for text in texts.uncertainty.strip("±+ ").split(" -")]
    assert written[0] >= up * (1.0 - 1e-9)
    assert written[-1] >= down * (1.0 - 1e-9)
    assert math.isfinite(float(texts.value))


@pytest.mark.parametrize("noise", [0.01, 0.05, 0.2, 0.4])
def test_in_dB_the_interval_holds_the_truth_as_often_as_it_claims(noise: float) -> None:
    """Monte Carlo after JCGM 101: 20 000 readings of a level with that part of noise, down to the
    noise floor. k = 2 claims 95.45 %; three binomial deviations are 0.45 %. At 0.4 one reading in 160 is no
    level at all and left out, all of them misses, so 0.6 % more are held."""
    random_, held, told, base = random.Random(3), 0, 0, settled(1.0, 2.0 * noise)
    for _ in range(20_000):
        one = replace(base, value=random_.gauss(1.0, noise))
        if scale_for(one, DBU).is_level:
            told += 1
            down, up = sides(one, DBU)
            held += -up <= DBU.from_base(one.value) - DBU.from_base(1.0) <= down
    left_out = 0.006 if noise == 0.4 else 0.0
    assert held / told == pytest.approx(0.9545 + left_out, abs=0.0045)
