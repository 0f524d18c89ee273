"""What the file tells of a signal: its own words, its step's, or those of the source set before; and what is
said where a meter averages or its profile does not reach."""

from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest

from meterlog.accuracy import Capability, InUse, Profile, Response, Signal, Specification, Waveform
from meterlog.accuracy.profile import ProfileRow
from meterlog.procedure import load_procedure, load_procedure_text, meter_findings, point_at
from meterlog.procedure.model import Rows
from meterlog.procedure.signals import COARSE, reads_of, signal_at, signals_of
from meterlog.quantity import Unit
from meterlog.reading import Coupling
from meterlog.shipped import shipped
from tests.procedure.bench import HEAD
from tests.procedure.test_meter_checks import STEP, TONE, VOLTS

NOISY = TONE.replace('frequency = "1 kHz"', 'frequency = "1 kHz"\nwaveform = "square"\ndistortion = "2 %"')
SQUARE = Signal(1000.0, Waveform.SQUARE, 0.02)
ALTERNATE = """
[[step]]
id = "both"
title = "Both"
pattern = "alternate"
[[step.condition]]
name = "low"
setup = "Tone to 100 Hz."
channel = "output"
frequency = "100 Hz"
target = "1 V"
tolerance = "5 %"
[[step.condition]]
name = "high"
setup = "Tone up."
channel = "output"
target = "1 V"
tolerance = "5 %"
"""
CURVE = """
[[step]]
id = "curve"
title = "Curve"
pattern = "table"
channel = "output"
curve = "riaa"
reference_row = "1 kHz"
tolerance = "1 dB"
waveform = "triangle"
"""
PEAK = """
[[step]]
id = "azimuth"
title = "Azimuth"
pattern = "extremum"
channel = "output"
extremum = "maximum"
bracket = "1 dB"
tolerance = "0.3 dB"
frequency = "10 kHz"
[step.coarse]
setup = "1 kHz."
fine_setup = "10 kHz."
bracket = "0.5 dB"
tolerance = "0.3 dB"
"""


def signal(steps: str, step: str, part: str = "") -> Signal:
    return signal_at(signals_of(load_procedure_text(HEAD + steps, "p.toml")), step, part)


def test_a_source_says_what_the_signal_is_until_something_is_switched() -> None:
    assert signal(NOISY + STEP, "level") == SQUARE
    assert signal(NOISY + STEP + 'setup = "Another tone."\n', "level") == Signal()


def test_what_a_step_says_itself_counts_before() -> None:
    own = STEP + 'frequency = "5 kHz"\nwaveform = "sine"\n'
    assert signal(NOISY + own, "level") == Signal(5000.0, Waveform.SINE, 0.02)


def test_each_condition_has_its_own() -> None:
    steps = NOISY + ALTERNATE
    assert signal(steps, "both", "low").frequency_hz == 100.0
    assert signal(steps, "both", "high") == Signal()


def test_the_rows_of_a_curve_that_no_file_names_have_their_frequencies() -> None:
    assert signal(CURVE, "curve", "20 Hz") == Signal(20.0, Waveform.TRIANGLE)


def test_of_a_coarse_tone_nobody_says() -> None:
    assert signal(NOISY + PEAK, "azimuth").frequency_hz == 10e3
    assert signal(NOISY + PEAK, "azimuth", COARSE) == Signal()


def said(steps: str, meter: InUse) -> list[str]:
    procedure = load_procedure_text(HEAD + steps, "p.toml")
    found = point_at(meter_findings(procedure, {"output": meter}), procedure.text, "p.toml")
    return [f"{one.severity} {one.field}: {one.message}" for one in found]


def used(capability: Capability = VOLTS) -> InUse:
    return InUse("meter", Specification("2000 counts", 0.4, (capability,)), "voltage", Coupling.AC)


def test_before_a_session_it_is_told_that_a_meter_averages() -> None:
    noise = STEP + 'waveform = "noise"\n'
    averages = used(replace(VOLTS, response=Response.AVERAGE))
    (told,) = said(noise, averages)
    assert told == (
        "warning step.1: 'meter' (2000 counts) averages and shows noise -1.05 dB off its rms value; "
        "take a true-rms meter"
    )
    assert said(STEP, averages) == []
    assert said(noise, used(replace(VOLTS, response=Response.TRUE_RMS))) == []


@pytest.mark.parametrize(
    ("frequency", "message"),
    [
        ('frequency = "5 kHz"\n', None),
        (
            'frequency = "6 kHz"\n',
            "error step.1: 6 kHz is outside 1 kHz to 5 kHz of the profile that corrects",
        ),
        ("", "warning step.1: no frequency is known, so the profile"),
    ],
)
def test_where_a_profile_does_not_reach(frequency: str, message: str | None) -> None:
    """5 kHz is beyond the band of its specification, and within its profile."""
    profile = Profile(
        meter="meter",
        serial_number="",
        function="voltage",
        coupling=Coupling.AC,
        full_scale=2.0,
        measured=date(2026, 3, 1),
        valid_days=365.0,
        against="another",
        reference_hz=1000.0,
        rows=tuple(ProfileRow(hertz, 0.0, 0.0) for hertz in (1000.0, 2000.0, 5000.0)),
    )
    told = said(STEP + frequency, replace(used(), profile=profile, correct=True))
    assert (message is None) == (told == [])
    assert message is None or told[0].startswith(message)


UNTOLD = {
    "fm-detector": {"null", "null-stays"},  # what is left of a sweep is no sine of its frequency
    "phono-equaliser": {"rest"},  # hum and noise
    "supply-rails": {"ripple-plus-15", "ripple-minus-15", "ripple-plus-5"},  # of the mains where it is done
}
"""Steps of shipped procedures whose text does not tell what the signal is."""


@pytest.mark.parametrize("path", shipped("procedures"), ids=lambda path: path.stem)
def test_what_the_text_of_a_shipped_procedure_tells_of_a_signal_is_stated(path: Path) -> None:
    procedure = load_procedure(path)
    alternating = {
        channel.name
        for channel in procedure.channels
        if channel.unit is Unit.VOLT and channel.coupling is not Coupling.DC
    }
    untold = {
        read.step.id
        for read in reads_of(procedure)
        if read.channel in alternating and not isinstance(read.part, Rows)
        if read.frequency is None and read.signal.waveform is Waveform.SINE
    }
    assert untold == UNTOLD.get(path.stem, set())
