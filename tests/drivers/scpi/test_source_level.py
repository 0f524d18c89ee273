"""The arithmetic of a generator's amplitude.

0 dBm: 0.2236 V in 50 ohm, 0.7746 V in 600 ohm (U = sqrt(P R), the reference 1 mW; common practice); a sine of
1 V rms has 2.828 V peak-to-peak. The other figures follow from these.
"""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Garbled
from meterlog_drivers.scpi.source_level import Counting, parse_load, parse_unit, said


@pytest.mark.parametrize(
    ("amplitude", "load_ohm", "number", "level_v"),
    [
        ("dbm", 50.0, 0.0, 0.2236),
        ("dbm", 600.0, 0.0, 0.7746),
        ("dbm", 50.0, 13.01, 1.0),
        ("dbm", 50.0, 23.98, 3.536),
        ("peak-to-peak", 50.0, 10.0, 3.536),
        ("peak-to-peak", math.inf, 2.828, 1.0),
        ("peak", None, 1.414, 1.0),
        ("rms", None, 1.0, 1.0),
    ],
)
def test_handbook_figures(amplitude: str, load_ohm: float | None, number: float, level_v: float) -> None:
    counting = Counting(amplitude, load_ohm)
    assert counting.level_of(number) == pytest.approx(level_v, rel=5e-4)
    assert counting.number_of(level_v) == pytest.approx(number, rel=5e-4, abs=1e-2)


@given(
    st.sampled_from(["rms", "peak", "peak-to-peak", "dbm"]),
    st.floats(1.0, 1e6),
    st.floats(1e-6, 1e3),
)
def test_there_and_back(amplitude: str, load_ohm: float, level_v: float) -> None:
    counting = Counting(amplitude, load_ohm)
    assert counting.level_of(counting.number_of(level_v)) == pytest.approx(level_v, rel=1e-9)


@pytest.mark.parametrize("load_ohm", [math.inf, None])
def test_dbm_says_no_voltage_without_a_load(load_ohm: float | None) -> None:
    with pytest.raises(ValueError, match=r"counts in dBm across .*set it to VRMS or VPP"):
        Counting("dbm", load_ohm).number_of(1.0)
    with pytest.raises(ValueError, match="says no voltage"):
        Counting("dbm", load_ohm).level_of(0.0)


@pytest.mark.parametrize(
    ("answer", "load_ohm"),
    [
        (b"5.000000000000E+01", 50.0),
        (b"600", 600.0),
        (b"9.9E+37", math.inf),
        (b"+9.90000000000000E+37", math.inf),
        (b"INF", math.inf),
    ],
)
def test_a_load_in_every_form(answer: bytes, load_ohm: float) -> None:
    assert parse_load(answer) == load_ohm


@pytest.mark.parametrize("answer", [b"", b"0", b"-50", b"50,50", b"9.91E37", b"HZ"])
def test_no_load(answer: bytes) -> None:
    with pytest.raises(Garbled):
        parse_load(answer)


def test_units_as_they_are_answered() -> None:
    assert [parse_unit(unit) for unit in (b"VPP", b"VRMS", b"dbm")] == ["peak-to-peak", "rms", "dbm"]
    with pytest.raises(Garbled, match="WATT"):
        parse_unit(b"WATT")


def test_a_load_in_words() -> None:
    assert [said(load) for load in (50.0, math.inf)] == ["50 ohm", "high impedance"]
    assert said(None) == "a load that it does not tell"
