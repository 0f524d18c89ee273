"""The generator's language without a wire.

Error numbers after SCPI-1999 volume 2, chapter 21; header forms after volume 1, 6.2: the exact long or the
exact short form, brackets optional. 0 dBu = sqrt(0.6) V.
"""

import pytest

from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.scenarios.phono import Phono
from meterlog.simulate.scpi_source import ScpiSource


@pytest.fixture
def bench() -> SimulatedBench:
    return SimulatedBench(Phono(), RunningClock())


@pytest.fixture
def source(bench: SimulatedBench) -> ScpiSource:
    return ScpiSource(bench)


def asked(source: ScpiSource, question: str) -> float:
    answer = source.answer(question)
    assert answer is not None
    return float(answer)


@pytest.mark.parametrize("header", ["SOUR:FREQ", "SOURCE:FREQUENCY:CW", "FREQ", "sour:freq:cw", "FREQuency"])
def test_a_frequency_in_every_legal_form(source: ScpiSource, bench: SimulatedBench, header: str) -> None:
    assert source.answer(f"{header} 3.15 KHZ") is None
    assert bench.now().controls["frequency_hz"] == pytest.approx(3150.0)
    assert asked(source, "FREQ?") == pytest.approx(3150.0)
    assert source.answer("SYST:ERR?") == '0,"No error"'


def test_a_level_is_the_dial_s_and_read_back_as_volts(source: ScpiSource, bench: SimulatedBench) -> None:
    source.answer("SOUR:VOLT:LEV:IMM:AMPL 774.6 MV")
    assert bench.now().controls["level_dbu"] == pytest.approx(0.0, abs=1e-3)
    assert asked(source, "VOLT?") == pytest.approx(0.7746, rel=1e-6)


def test_the_output_is_off_until_it_is_switched_on(source: ScpiSource, bench: SimulatedBench) -> None:
    assert source.answer("OUTP?") == "0"
    assert source.answer("OUTP ON;OUTP?") == "1"
    assert bench.now().controls["oscillator"] is True
    source.answer("*RST")
    assert source.answer("OUTPUT:STATE?") == "0"


@pytest.mark.parametrize(
    ("command", "number"),
    [
        ("FREQ 1 MHZ", -224),  # no such suffix here: MHZ is megahertz in the standard, beyond this one anyway
        ("FREQ 9E6", -222),
        ("FREQ", -109),
        ("VOLT 0", -222),
        ("VOLT -1", -222),
        ("VOLT 100", -222),
        ("OUTP MAYBE", -224),
        ("FUNC SQU", -224),
        ("FREQU 100", -113),
    ],
)
def test_what_it_cannot_do_is_queued_and_changes_nothing(
    source: ScpiSource, bench: SimulatedBench, command: str, number: int
) -> None:
    before = bench.now()
    assert source.answer(command) is None
    answer = source.answer("SYST:ERR?")
    assert answer is not None
    assert answer.startswith(f"{number},")
    assert bench.now() is before


@pytest.mark.parametrize(("unit", "shown"), [("VRMS", 0.3873), ("VPP", 1.0954), ("DBM", 4.771)])
def test_told_of_50_ohm_it_shows_half_and_nothing_changes_at_the_unit(
    source: ScpiSource, bench: SimulatedBench, unit: str, shown: float
) -> None:
    """0.7746 V open, 0.3873 V across 50 ohm: 10 lg (0.3873^2 / 50 / 1 mW) = 4.771 dBm."""
    source.answer("VOLT 0.7746;:OUTP:LOAD 50")
    source.answer(f"VOLT:UNIT {unit}")
    assert asked(source, "VOLT?") == pytest.approx(shown, rel=1e-3)
    assert asked(source, "OUTP:LOAD?") == 50.0
    assert bench.now().controls["level_dbu"] == pytest.approx(0.0, abs=1e-3)


def test_no_dbm_at_high_impedance(source: ScpiSource) -> None:
    source.answer("VOLT:UNIT DBM")
    answer = source.answer("SYST:ERR?")
    assert answer is not None
    assert answer.startswith("-221,")
    assert source.answer("VOLT:UNIT?") == "VRMS"


def test_apply_sets_all_and_switches_on(source: ScpiSource, bench: SimulatedBench) -> None:
    source.answer("APPL:SIN 3150,0.7746,0.1")
    assert (asked(source, "FREQ?"), asked(source, "VOLT:OFFS?")) == pytest.approx((3150.0, 0.1))
    assert bench.now().controls["oscillator"] is True
