"""What people write, and what they get told when it is no quantity."""

import math

import pytest

from meterlog.quantity import (
    DBU,
    Quantity,
    QuantityError,
    References,
    Unit,
    parse_duration_s,
    parse_quantity,
    parse_scale,
    parse_span,
)

STUDIO = References(vu=parse_quantity("+4 dBu"), dbfs=parse_quantity("+18 dBu"), dbm_ohm=600.0)


@pytest.mark.parametrize(
    ("text", "base", "unit", "printed"),
    [
        ("+4 dBu", math.sqrt(0.6) * 10**0.2, Unit.VOLT, "+4 dBu"),
        ("4dBu", math.sqrt(0.6) * 10**0.2, Unit.VOLT, "+4 dBu"),
        ("1.228 V", 1.228, Unit.VOLT, "1.228 V"),
        ("-0.5 mV", -0.0005, Unit.VOLT, "-0.5 mV"),
        ("12.3 mV", 0.0123, Unit.VOLT, "12.3 mV"),
        ("  .5   V ", 0.5, Unit.VOLT, "0.5 V"),
        ("-0 V", 0.0, Unit.VOLT, "0 V"),
        ("1e3 Hz", 1000.0, Unit.HERTZ, "1000 Hz"),
        ("455 kHz", 455e3, Unit.HERTZ, "455 kHz"),
        ("10.7 MHz", 10.7e6, Unit.HERTZ, "10.7 MHz"),
        ("4.7 kohm", 4700.0, Unit.OHM, "4.7 kohm"),
        ("4.7 kOhm", 4700.0, Unit.OHM, "4.7 kohm"),
        ("4.7 k\u03a9", 4700.0, Unit.OHM, "4.7 kohm"),  # Greek omega
        ("4.7 k\u2126", 4700.0, Unit.OHM, "4.7 kohm"),  # ohm sign
        ("600 ohms", 600.0, Unit.OHM, "600 ohm"),
        ("12 \u00b5A", 12e-6, Unit.AMPERE, "12 uA"),  # micro sign
        ("12 \u03bcA", 12e-6, Unit.AMPERE, "12 uA"),  # Greek mu
        ("12 uA", 12e-6, Unit.AMPERE, "12 uA"),
        ("470 pF", 470e-12, Unit.FARAD, "470 pF"),
        ("50 %", 50.0, Unit.PERCENT, "50 %"),
        ("50%", 50.0, Unit.PERCENT, "50 %"),
        ("23 \u00b0C", 23.0, Unit.CELSIUS, "23 degC"),
        ("\u221210 dBV", 10**-0.5, Unit.VOLT, "-10 dBV"),  # minus sign
        ("1.228\u00a0V", 1.228, Unit.VOLT, "1.228 V"),  # no-break space
        ("0 dBm (600 ohm)", math.sqrt(0.6), Unit.VOLT, "0 dBm (600 ohm)"),
        ("0 dBm (0.6 k\u03a9)", math.sqrt(0.6), Unit.VOLT, "0 dBm (600 ohm)"),
        ("-4 VU (0 VU = +4 dBu)", math.sqrt(0.6), Unit.VOLT, "-4 VU (0 VU = +4 dBu)"),
        ("0 VU (0 VU = 1.228 V)", 1.228, Unit.VOLT, "0 VU (0 VU = 1.228 V)"),
        ("+1 VU(0  VU=-1 dBm (600 ohm))", math.sqrt(0.6), Unit.VOLT, "+1 VU (0 VU = -1 dBm (600 ohm))"),
        ("-18 dBFS (0 dBFS = +18 dBu)", math.sqrt(0.6), Unit.VOLT, "-18 dBFS (0 dBFS = +18 dBu)"),
    ],
)
def test_quantity(text: str, base: float, unit: Unit, printed: str) -> None:
    quantity = parse_quantity(text)
    assert quantity.base == pytest.approx(base, rel=1e-15)
    assert quantity.scale.unit is unit
    assert str(quantity) == printed
    assert parse_quantity(printed) == quantity


def test_prefixes_lose_nothing() -> None:
    for thousandths in (*range(1, 1000), 1228, 12277, 774597):
        assert parse_quantity(f"{thousandths} mV").base == thousandths / 1000  # division rounds correctly
        assert parse_quantity(f"{thousandths} uV").base == thousandths / 1_000_000


@pytest.mark.parametrize(
    ("text", "printed"),
    [
        ("-10 VU", "-10 VU (0 VU = +4 dBu)"),
        ("-18 dBFS", "-18 dBFS (0 dBFS = +18 dBu)"),
        ("0 dBm", "0 dBm (600 ohm)"),
        ("0 VU (0 VU = +6 dBu)", "0 VU (0 VU = +6 dBu)"),  # the bracket is nearer than the references
        ("0 dBm (75 ohm)", "0 dBm (75 ohm)"),
    ],
)
def test_references_stand_in_for_brackets(text: str, printed: str) -> None:
    assert str(parse_quantity(text, STUDIO)) == printed


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("", "does not begin with a number"),
        ("V", "does not begin with a number"),
        ("nan V", "does not begin with a number"),
        ("inf V", "does not begin with a number"),
        ("-inf dBu", "does not begin with a number"),
        ("\uff11 V", "does not begin with a number"),  # full-width digit
        ("0x10 V", "one number and one unit"),
        ("1,5 V", "such as 1.5 V"),
        ("1_000 V", "without separators"),
        ("1 000 V", "without separators"),
        ("10\u00b2 Hz", "one number and one unit"),
        ("1.2.3 V", "one number and one unit"),
        ("5 V)", "one number and one unit"),
        ("5 V (", "one number and one unit"),
        ("5 V/s", "one number and one unit"),
        ("1e999 V", "too large"),
        ("1e300 GHz", "beyond every meter"),
        ("9999 dBu", "beyond every meter"),
        ("-9999 dBu", "beyond every meter"),
        ("3", "needs its unit"),
        ("3 (600 ohm)", "needs its unit"),
        ("3 dB", "write dBu, dBV, dBm, dBFS or VU"),
        ("3 Vrms", "unit 'Vrms' is not known"),
        ("10 khz", "did you mean kHz?"),
        ("5 mhz", "did you mean mHz or MHz?"),
        ("4 DBU", "did you mean dBu?"),
        ("3 vu", "did you mean VU?"),
        ("0 dBm", "such as (600 ohm)"),
        ("0 dBm (600)", "needs its unit"),
        ("0 dBm (600 V)", "such as (600 ohm)"),
        ("0 dBm (0 ohm)", "above 0 ohm"),
        ("0 dBm (-600 ohm)", "above 0 ohm"),
        ("-10 VU", "(0 VU = +4 dBu)"),
        ("-10 VU (+4 dBu)", "(0 VU = +4 dBu)"),
        ("-10 VU (0 VU)", "(0 VU = +4 dBu)"),
        ("-10 VU (0 VU =)", "(0 VU = +4 dBu)"),
        ("-10 VU (1 VU = +4 dBu)", "(0 VU = +4 dBu)"),
        ("-10 VU (0 VU = 0 VU)", "needs its reference"),
        ("-10 VU (0 VU = 0 V)", "above 0 V"),
        ("-10 VU (0 VU = -1 V)", "above 0 V"),
        ("-10 VU (0 VU = 4 mA)", "must be a voltage"),
        ("-18 dBFS", "(0 dBFS = +18 dBu)"),
        ("-18 dBFS (0 VU = +4 dBu)", "(0 dBFS = +18 dBu)"),
        ("+4 dBu (600 ohm)", "leave out (600 ohm)"),
        ("5 V (peak)", "leave out (peak)"),
        ("0 VU (0 VU = " * 500, "longer than 100 characters"),
    ],
)
def test_what_is_no_quantity_is_refused_with_what_to_write(text: str, hint: str) -> None:
    with pytest.raises(QuantityError) as refused:
        parse_quantity(text)
    assert hint in str(refused.value)


@pytest.mark.parametrize(
    "references",
    [
        References(vu=parse_quantity("4 mA")),
        References(vu=parse_quantity("0 V")),
        References(dbfs=parse_quantity("1 kHz")),
        References(dbm_ohm=0.0),
        References(dbm_ohm=math.nan),
    ],
)
def test_useless_references_are_refused(references: References) -> None:
    text = "0 VU" if references.vu else "0 dBFS" if references.dbfs else "0 dBm"
    with pytest.raises(QuantityError, match=r"voltage|above 0"):
        parse_quantity(text, references)


def test_scale_alone() -> None:
    assert parse_scale("dBu") is DBU
    assert parse_scale(" kΩ ").symbol == "kohm"
    assert parse_scale("VU", STUDIO) == parse_quantity("0 VU", STUDIO).scale
    assert parse_scale("dBm (75 ohm)").note == "75 ohm"


@pytest.mark.parametrize("text", ["", "dB", "5 V", "volt", "VU", "dBu,"])
def test_what_is_no_scale(text: str) -> None:
    with pytest.raises(QuantityError) as refused:
        parse_scale(text)
    assert repr(text) in str(refused.value)


@pytest.mark.parametrize(
    ("text", "amount", "kind", "printed"),
    [
        ("0.1 dB", 0.1, "dB", "0.1 dB"),
        ("±0.25 dB", 0.25, "dB", "0.25 dB"),
        ("+-1 mV", 0.001, Unit.VOLT, "1 mV"),
        ("± 2%", 2.0, "%", "2 %"),
        ("5 mV", 0.005, Unit.VOLT, "5 mV"),
        ("10 Hz", 10.0, Unit.HERTZ, "10 Hz"),
        ("0.5 °C", 0.5, Unit.CELSIUS, "0.5 degC"),
    ],
)
def test_span(text: str, amount: float, kind: str, printed: str) -> None:
    span = parse_span(text)
    assert (span.amount, span.kind, str(span)) == (amount, kind, printed)
    assert parse_span(printed) == span


@pytest.mark.parametrize(
    ("text", "hint"),
    [
        ("0 dB", "above 0"),
        ("-1 dB", "above 0"),
        ("±-1 dB", "above 0"),
        ("1", "needs its unit"),
        ("1 dBu", "write 1 dB"),
        ("1 VU", "write 1 dB"),
        ("1 dBm (600 ohm)", "no distance"),
        ("1 db", "did you mean dB?"),
        ("1 min", "not known"),
        ("2000 dB", "from 0 to 1000 dB"),
        ("1e300 GHz", "not inf Hz"),
        ("0,1 dB", "such as 1.5 V"),
    ],
)
def test_what_is_no_span(text: str, hint: str) -> None:
    with pytest.raises(QuantityError) as refused:
        parse_span(text)
    assert hint in str(refused.value)


@pytest.mark.parametrize(
    ("text", "seconds"),
    [("1.5 s", 1.5), ("20 min", 1200.0), ("2 h", 7200.0), ("500 ms", 0.5), ("0 s", 0.0), ("10s", 10.0)],
)
def test_duration(text: str, seconds: float) -> None:
    assert parse_duration_s(text) == seconds


@pytest.mark.parametrize(
    "text", ["", "5", "5 V", "5 sec", "-1 s", "1:30", "1 h 30 min", "1,5 s", "5 s (about)"]
)
def test_what_is_no_duration(text: str) -> None:
    with pytest.raises(QuantityError) as refused:
        parse_duration_s(text)
    assert repr(text) in str(refused.value)


def test_a_level_that_was_never_written_prints_near_enough() -> None:
    quantity = Quantity(1.228, DBU)
    assert parse_quantity(str(quantity)).base == pytest.approx(1.228, rel=1e-14)
