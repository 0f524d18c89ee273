"""Ratios: as dB, %, ppm and ppb; and what is typed in where a number on a scale is asked for."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.quantity import (
    CENT,
    DBU,
    GAIN,
    HUNDREDTH,
    OHM,
    PPB,
    PPM,
    VOLT,
    Quantity,
    QuantityError,
    Scale,
    Span,
    Unit,
    parse_entry,
    parse_quantity,
    parse_span,
    show,
    vu,
)

VU = vu(parse_quantity("+4 dBu"))


@pytest.mark.parametrize(
    ("ratio", "scale", "text"),
    [
        (10.0, GAIN, "+20.00 dB"),  # IEC 60027-3: 20 lg of a ratio of voltages
        (0.5, GAIN, "-6.02 dB"),
        (1.0, GAIN, "0.00 dB"),
        (0.02, HUNDREDTH, "2.000 %"),
        (1e-6, PPM, "1.000 ppm"),  # a millionth, and a milliardth: the words themselves
        (-3e-9, PPB, "-3.000 ppb"),
    ],
)
def test_a_ratio_is_written_in_several_ways(ratio: float, scale: Scale, text: str) -> None:
    assert show(ratio, scale) == text


@pytest.mark.parametrize(
    ("text", "span"),
    [("5 ppm", Span(5e-6, Unit.NONE)), ("20 ppb", Span(2e-8, Unit.NONE)), ("3 cent", Span(3.0, Unit.CENT))],
)
def test_distances_of_ratios_and_pitches_are_absolute(text: str, span: Span) -> None:
    assert parse_span(text) == span
    assert str(parse_span(text)) == text
    assert parse_span(text).half_width(0.0) == span.amount


def test_two_hundredths_stay_two_hundredths_wherever_the_ratio_lies() -> None:
    points = Span(0.02, Unit.NONE, HUNDREDTH)
    assert (points.low(0.0), points.high(0.0)) == (-0.02, 0.02)
    assert points.deviation(1.03, 1.0) == pytest.approx(3.0)
    assert str(points) == "2 %"


@pytest.mark.parametrize(
    ("text", "scale", "base"),
    [
        ("-0.5", VU, VU.to_base(-0.5)),
        ("-0.5 VU", VU, VU.to_base(-0.5)),
        ("+4 dBu", VU, DBU.to_base(4.0)),
        ("1.5 V", DBU, 1.5),
        ("12.3 mV", VOLT, 0.0123),
        ("2.4 cent", CENT, 2.4),
        ("3 dB", GAIN, GAIN.to_base(3.0)),
        ("0.2 %", HUNDREDTH, 0.002),
        ("4.7 kΩ", OHM, 4700.0),
    ],
)
def test_an_entry_is_on_the_scale_that_was_asked_for_or_names_another(
    text: str, scale: Scale, base: float
) -> None:
    assert parse_entry(text, scale).base == base


@pytest.mark.parametrize(
    ("text", "scale", "says"),
    [
        ("5 ohm", VOLT, "is not in V; write the number and V"),
        ("5 Hz", VU, r"is not in VU \(0 VU = \+4 dBu\); write the number and VU"),
        ("half", VOLT, "does not begin with a number"),
        ("", VOLT, "does not begin with a number"),
        ("1,5", VOLT, "decimals after a point"),
        ("3 dB", VOLT, "a level in dB needs a reference"),
        ("1e300", DBU, "beyond every meter"),
        ("3 furlongs", OHM, "'furlongs' is not known"),
    ],
)
def test_what_is_amiss_is_answered_with_what_to_type(text: str, scale: Scale, says: str) -> None:
    with pytest.raises(QuantityError, match=says):
        parse_entry(text, scale)


@given(st.integers(-100_000, 100_000), st.sampled_from([VOLT, CENT, PPM, PPB, HUNDREDTH, OHM]))
def test_an_entry_comes_back_as_it_was_typed(thousandths: int, scale: Scale) -> None:
    text = f"{thousandths / 1000:.3f}"
    assert parse_entry(text, scale) == Quantity(scale.to_base(float(text)), scale)
