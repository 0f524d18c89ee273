"""Figures that bench people know by heart, worked out apart from this code from the formula beside each."""

import math

import pytest

from meterlog.quantity import DBU, VOLT, Span, difference_db, parse_quantity, parse_span, show, show_number


@pytest.mark.parametrize(
    ("level", "volts"),  # sqrt(0.6) * 10**(level / 20)
    [
        ("-20 dBu", "77.46 mV"),
        ("-10 dBu", "244.9 mV"),
        ("0 dBu", "0.7746 V"),
        ("+4 dBu", "1.2277 V"),
        ("+6 dBu", "1.5455 V"),
        ("+10 dBu", "2.4495 V"),
        ("+11 dBu", "2.7484 V"),
        ("+18 dBu", "6.153 V"),
        ("+24 dBu", "12.277 V"),
    ],
)
def test_volts_of_a_level(level: str, volts: str) -> None:
    printed = parse_quantity(volts)
    digits = volts.split()[0]
    shown = printed.scale.from_base(parse_quantity(level).base)
    assert f"{shown:.{len(digits.partition('.')[2])}f}" == digits


@pytest.mark.parametrize(
    ("tolerance", "percent"),  # 100 * (10**(dB / 20) - 1), upwards
    [
        ("0.05 dB", "0.58"),
        ("0.1 dB", "1.16"),
        ("0.25 dB", "2.92"),
        ("0.5 dB", "5.93"),
        ("1 dB", "12.2"),
        ("3 dB", "41.3"),
    ],
)
def test_a_tolerance_in_percent(tolerance: str, percent: str) -> None:
    deviation = Span(0.0, "%").deviation(parse_span(tolerance).high(1.0), 1.0)
    assert f"{deviation:.{len(percent.partition('.')[2])}f}" == percent


@pytest.mark.parametrize(
    ("level", "count_volts", "count_db", "shown"),  # 20 * log10(1 + count / volts), to the printed digits
    [
        ("0 dBu", 1e-3, 0.011, "0.00 dBu"),
        ("-20 dBu", 1e-4, 0.011, "-20.00 dBu"),
        ("-40 dBu", 1e-4, 0.11, "-40.0 dBu"),
        ("-60 dBu", 1e-4, 1.05, "-60 dBu"),
    ],
)
def test_one_count_of_a_meter_in_db_decides_the_decimals(
    level: str, count_volts: float, count_db: float, shown: str
) -> None:
    volts = parse_quantity(level).base
    assert difference_db(volts + count_volts, volts) == pytest.approx(count_db, rel=0.03)
    assert show(volts, DBU, count_volts) == shown


def test_one_count_of_ten_millivolts() -> None:
    assert Span(0.0, "%").deviation(10.1e-3, 10e-3) == pytest.approx(1.0)
    assert show_number(10e-3, VOLT, 1e-4) == "0.0100"


@pytest.mark.parametrize(("above_floor_db", "high_by_db"), [(20, 0.04), (10, 0.46), (6, 1.26), (3, 3.0)])
def test_a_reading_near_the_floor_is_high(above_floor_db: float, high_by_db: float) -> None:
    # The floor adds as power: signal = sqrt(reading**2 - floor**2).
    floor = parse_span(f"{above_floor_db} dB").low(1.0)
    assert difference_db(1.0, math.sqrt(1.0 - floor**2)) == pytest.approx(high_by_db, abs=0.03)


@pytest.mark.parametrize(
    ("waveform", "reading_over_rms", "error_db"),  # pi / (2 sqrt 2) times mean over rms
    [
        ("square", math.pi / math.sqrt(8.0), 0.91),
        ("triangle", math.pi / math.sqrt(8.0) * math.sqrt(3.0) / 2.0, -0.34),
        ("Gaussian noise", math.pi / math.sqrt(8.0) * math.sqrt(2.0 / math.pi), -1.05),
    ],
)
def test_average_responding_meter(waveform: str, reading_over_rms: float, error_db: float) -> None:
    assert round(difference_db(reading_over_rms, 1.0), 2) == error_db


@pytest.mark.parametrize(("source_ohm", "loss_db"), [(50.0, -0.7), (150.0, -1.9), (600.0, -6.0)])
def test_loss_into_600_ohm(source_ohm: float, loss_db: float) -> None:
    assert round(difference_db(600.0, 600.0 + source_ohm), 1) == loss_db
