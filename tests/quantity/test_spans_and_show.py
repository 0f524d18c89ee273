"""Spans at their edges, digits on the display, and the list of names."""

import math

import pytest

import meterlog.quantity
from meterlog.errors import MeterlogError
from meterlog.quantity import (
    DBU,
    KILOHERTZ,
    MILLIVOLT,
    OHM,
    PERCENT,
    VOLT,
    Quantity,
    QuantityError,
    Scale,
    Span,
    Unit,
    base_scale,
    dbm,
    difference_db,
    parse_quantity,
    parse_span,
    ratio_from_db,
    readable_scale,
    show,
    show_deviation,
    show_number,
    vu,
)


@pytest.mark.parametrize(
    ("span", "value", "low", "high"),
    [
        ("6 dB", 1.0, 0.501187234, 1.995262315),
        ("6 dB", -1.0, -1.995262315, -0.501187234),
        ("6 dB", 0.0, 0.0, 0.0),
        ("10 %", 5.0, 4.5, 5.5),
        ("10 %", -5.0, -5.5, -4.5),
        ("10 %", 0.0, 0.0, 0.0),
        ("5 mV", 0.0, -0.005, 0.005),
        ("5 mV", -0.003, -0.008, 0.002),
    ],
)
def test_low_and_high(span: str, value: float, low: float, high: float) -> None:
    assert parse_span(span).low(value) == pytest.approx(low, abs=1e-9)
    assert parse_span(span).high(value) == pytest.approx(high, abs=1e-9)


@pytest.mark.parametrize(
    ("span", "value", "target", "inside"),
    [
        ("0.1 V", 0.3, 0.2, True),  # 0.3 - 0.2 is 0.09999... as floats
        ("0.1 V", 0.1, 0.2, True),
        ("0.2 V", 0.3, 0.1, True),  # 0.1 + 0.2 is 0.30000000000000004
        ("0.7 V", 0.8, 0.1, True),  # 0.1 + 0.7 is 0.7999999999999999, below 0.8
        ("0.1 V", 0.3001, 0.2, False),
        ("10 mV", 0.0100000001, 0.0, False),
        ("1 %", 1.01, 1.0, True),
        ("1 %", 1.0101, 1.0, False),
        ("3 dB", ratio_from_db(3.0), 1.0, True),
        ("3 dB", ratio_from_db(-3.0), 1.0, True),
        ("3 dB", ratio_from_db(3.001), 1.0, False),
        ("3 dB", 1.0, -1.0, False),
        ("3 dB", 0.0, 1.0, False),
        ("1 pHz", math.nextafter(10e6, math.inf), 10e6, True),  # no float lies nearer
        ("1 pHz", 10e6 + 1e-6, 10e6, False),
    ],
)
def test_contains(span: str, value: float, target: float, inside: bool) -> None:
    assert parse_span(span).contains(value, target) is inside


@pytest.mark.parametrize(
    ("span", "value", "target", "deviation", "shown"),
    [
        ("0.1 dB", 2.0, 1.0, 6.0206, "+6.02 dB"),
        ("0.1 dB", -2.0, -1.0, 6.0206, "+6.02 dB"),
        ("0.1 dB", 0.0, 1.0, -math.inf, "-inf dB"),
        ("0.1 dB", 1.0, 0.0, math.inf, "+inf dB"),
        ("0.1 dB", 0.0, 0.0, 0.0, "0.00 dB"),
        ("0.1 dB", 1.0, -1.0, -math.inf, "-inf dB"),
        ("0.1 dB", -1e-200, 1e-200, -math.inf, "-inf dB"),
        ("0.1 dB", 0.9999, 1.0, -0.000869, "0.00 dB"),
        ("3 dB", 2.0, 1.0, 6.0206, "+6.0 dB"),
        ("2 %", 1.01, 1.0, 1.0, "+1.0 %"),
        ("2 %", -2.0, -1.0, -100.0, "-100.0 %"),
        ("2 %", -1.0, 0.0, -math.inf, "-inf %"),
        ("2 %", 0.0, 0.0, 0.0, "0.0 %"),
        ("5 mV", 1.002, 1.0, 2.0, "+2.0 mV"),
        ("20 mV", 0.99, 1.0, -10.0, "-10 mV"),
        ("0.25 kHz", 455_500.0, 455_000.0, 0.5, "+0.50 kHz"),
    ],
)
def test_deviation(span: str, value: float, target: float, deviation: float, shown: str) -> None:
    assert parse_span(span).deviation(value, target) == pytest.approx(deviation, abs=1e-5)
    assert show_deviation(parse_span(span), value, target) == shown


def test_a_span_made_in_code() -> None:
    assert str(Span(0.005, Unit.VOLT)) == "0.005 V"
    assert Span(0.005, Unit.VOLT) == parse_span("5 mV")
    assert str(parse_span("5 mV").scaled(0.5)) == "2.5 mV"
    assert show_deviation(Span(0.0, "dB"), 1.0, 1.0) == "0.00 dB"
    assert Span(2.0, "%").shown_scale is PERCENT


@pytest.mark.parametrize("amount", [-0.1, math.nan, math.inf])
def test_a_span_below_nothing_is_refused(amount: float) -> None:
    with pytest.raises(QuantityError, match="a distance goes from 0"):
        Span(amount, "dB")


@pytest.mark.parametrize(
    ("base", "scale", "resolution", "shown"),
    [
        (1.2276529, VOLT, 0.0, "1.228 V"),
        (1.2276529, VOLT, 0.001, "1.228 V"),
        (1.2276529, VOLT, 0.0005, "1.2277 V"),
        (1.2276529, VOLT, 0.01, "1.23 V"),
        (1.2276529, VOLT, 10.1 - 10.0, "1.2 V"),  # 0.09999999999999964, a count read off two displays
        (1.2, MILLIVOLT, 1e-3, "1200 mV"),
        (0.0123, MILLIVOLT, 1e-4, "12.3 mV"),
        (9.9996, VOLT, 0.0, "10.00 V"),
        (123456.0, VOLT, 0.0, "123456 V"),
        (0.0, VOLT, 0.0, "0.000 V"),
        (-0.0, VOLT, 0.01, "0.00 V"),
        (-0.0004, VOLT, 0.001, "0.000 V"),
        (-0.5, VOLT, 0.1, "-0.5 V"),
        (1e-30, VOLT, 0.0, "0.000000000 V"),
        (1.0, VOLT, 1e-320, "1.000000000 V"),
        (455e3, KILOHERTZ, 100.0, "455.0 kHz"),
        (4700.0, OHM, 10.0, "4700 ohm"),
        (42.0, base_scale(Unit.NONE), 1.0, "42"),
        (1.2276529, DBU, 0.0, "+4.00 dBu"),
        (1.2276529, DBU, 1e-3, "+4.00 dBu"),
        (1.2276529, DBU, 1e-6, "+4.000 dBu"),
        (0.774, DBU, 0.0, "-0.01 dBu"),
        (0.7745966, DBU, 0.0, "0.00 dBu"),
        (0.001, DBU, 0.01, "-58 dBu"),
        (1e-320, DBU, 1.0, "-6398 dBu"),
        (0.0, DBU, 0.001, "-inf dBu"),
        (-0.1, DBU, 0.001, "-inf dBu"),
        (math.sqrt(0.6), dbm(600.0), 0.0, "0.00 dBm (600 ohm)"),
        (1.2276529, vu(parse_quantity("+4 dBu")), 0.0, "0.00 VU (0 VU = +4 dBu)"),
    ],
)
def test_show(base: float, scale: Scale, resolution: float, shown: str) -> None:
    assert show(base, scale, resolution) == shown
    assert show_number(base, scale, resolution) == shown.split()[0]


@pytest.mark.parametrize(
    ("base", "unit", "symbol"),
    [
        (0.0123, Unit.VOLT, "mV"),
        (-0.0123, Unit.VOLT, "mV"),
        (1.0, Unit.VOLT, "V"),
        (0.001, Unit.VOLT, "mV"),
        (4700.0, Unit.OHM, "kohm"),
        (0.0, Unit.HERTZ, "Hz"),
        (1e-15, Unit.FARAD, "F"),
        (0.02, Unit.PERCENT, "%"),
        (5000.0, Unit.NONE, ""),
    ],
)
def test_readable_scale(base: float, unit: Unit, symbol: str) -> None:
    assert readable_scale(base, unit).symbol == symbol


@pytest.mark.parametrize("unit", list(Unit))
def test_every_unit_has_its_scale(unit: Unit) -> None:
    scale = base_scale(unit)
    assert (scale.unit, scale.to_base(1.5), scale.is_level) == (unit, 1.5, False)


def test_a_scale_without_a_reference_above_nothing_is_refused() -> None:
    for zero in (0.0, -1.0, math.nan, math.inf):
        with pytest.raises(QuantityError, match="needs a reference above 0"):
            Scale("dBx", Unit.VOLT, zero=zero)
    with pytest.raises(QuantityError):
        Scale("x", Unit.VOLT, factor=0.0)


def test_decibels_of_nothing_and_of_too_much() -> None:
    assert difference_db(-10.0, 1.0) == difference_db(10.0, -1.0) == 20.0
    assert difference_db(0.0, 1.0) == -math.inf
    assert difference_db(1.0, 0.0) == math.inf
    assert difference_db(0.0, 0.0) == 0.0
    assert difference_db(1e-300, 1e300) == -math.inf
    assert ratio_from_db(7000.0) == math.inf
    assert ratio_from_db(-7000.0) == 0.0


def test_nothing_as_text() -> None:
    assert str(Quantity(0.0, DBU)) == "-inf dBu"
    assert str(Quantity(-0.0, VOLT)) == "0 V"


def test_errors_are_for_the_person() -> None:
    assert issubclass(QuantityError, MeterlogError)


def test_public_names() -> None:
    constants = {"AMPERE", "DBU", "DBV", "DECIBEL", "HERTZ", "KILOHERTZ", "KILOHM", "MEGAHERTZ", "MEGOHM"}
    constants |= {"CENT", "GAIN", "HUNDREDTH", "PPB", "PPM"}
    constants |= {
        "MICROAMPERE",
        "MICROVOLT",
        "MILLIAMPERE",
        "MILLIVOLT",
        "OHM",
        "PERCENT",
        "SECOND",
        "VOLT",
        "WATT",
    }
    classes = {"Offset", "Quantity", "QuantityError", "References", "Scale", "Span", "Unit"}
    functions = {
        "base_scale",
        "dbfs",
        "dbm",
        "difference_db",
        "parse_duration_s",
        "parse_entry",
        "parse_quantity",
        "parse_scale",
        "parse_target",
    }
    functions |= {
        "parse_span",
        "ratio_from_db",
        "readable_scale",
        "show",
        "show_deviation",
        "show_number",
        "vu",
    }
    assert set(meterlog.quantity.__all__) == constants | classes | functions
    assert all(hasattr(meterlog.quantity, name) for name in meterlog.quantity.__all__)
