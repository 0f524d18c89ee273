"""What the meters of a bench cannot do: each rule at its edge, on an invented meter with round numbers."""

import pytest

from meterlog.accuracy import Band, Capability, InUse, Range, Specification
from meterlog.files import Severity
from meterlog.procedure import load_procedure_text, meter_findings, point_at
from meterlog.reading import Coupling
from tests.procedure.bench import HEAD
from tests.procedure.test_patterns import EXTREMUM

# 2000 counts: 1.999 V in 1 mV, 19.99 V in 10 mV
VOLTS = Capability(
    "voltage",
    Coupling.AC,
    (Range(2.0, 1e-3, 1.999), Range(20.0, 1e-2, 19.99)),
    (Band(40.0, 1000.0),),
    lowest=0.05,
)
METER = Specification("2000 counts", 0.4, (VOLTS,))
STEP = """
[[step]]
id = "level"
title = "Level"
pattern = "adjust"
channel = "output"
target = "1 V"
tolerance = "5 %"
"""
TONE = """
[[step]]
id = "tone"
title = "Tone"
pattern = "set-source"
setup = "Oscillator on."
channel = "output"
frequency = "1 kHz"
target = "1 V"
tolerance = "5 %"
"""


def found(steps: str, **more: float) -> list[tuple[str, str]]:
    """(field, severity) of everything that is said."""
    meter = InUse("meter", METER, "voltage", Coupling.AC, **more)
    procedure = load_procedure_text(HEAD + steps, "p.toml")
    problems = point_at(meter_findings(procedure, {"output": meter}), procedure.text, "p.toml")
    return [(problem.field, problem.severity) for problem in problems]


@pytest.mark.parametrize(
    ("target", "tolerance", "narrow"),
    [
        ("1 V", "1 mV", False),  # 2 counts of 1 mV exactly
        ("1 V", "0.9 mV", True),
        ("1 V", "0.1 %", False),  # 2 mV
        ("5 V", "9 mV", True),  # on the coarse range: 18 mV, two counts are 20 mV
        ("5 V", "10 mV", False),
        ("1.999 V", "1 mV", True),  # the window reaches beyond the fine range
        ("-20 dBu", "0.1 dB", True),  # 77.5 mV: 1.8 mV, calculated
        ("-20 dBu", "0.12 dB", False),  # 2.14 mV
    ],
)
def test_a_window_is_two_counts_at_least(target: str, tolerance: str, narrow: bool) -> None:
    steps = STEP.replace('"1 V"', f'"{target}"').replace('"5 %"', f'"{tolerance}"')
    errors = [field for field, severity in found(steps) if severity == Severity.ERROR]
    assert errors == (["step.1.tolerance"] if narrow else [])


def test_the_range_of_the_bench_file_counts_not_the_likely_one() -> None:
    steps = STEP.replace('"5 %"', '"5 mV"')
    assert found(steps) == []
    assert found(steps, range_max=20.0) == [("step.1.tolerance", "error")]
    assert found(STEP.replace('"1 V"', '"5 V"'), range_max=2.0) == [("step.1.target", "error")]


def test_a_target_in_db_about_a_step_is_looked_at_where_it_will_lie() -> None:
    down = STEP.replace('target = "1 V"', 'reference = "tone"\ntarget = "-40 dB"')  # 10 mV +-0.5 mV
    assert ("step.2.tolerance", "error") in found(TONE + down)
    assert found(TONE + down.replace("-40 dB", "-10 dB")) == []


def test_a_level_beyond_every_range() -> None:
    assert found(STEP.replace('"1 V"', '"30 V"')) == [("step.1.target", "error")]


def test_a_level_at_the_low_end_of_its_range_is_a_warning() -> None:
    assert found(STEP.replace('"1 V"', '"0.1 V"')) == []  # 5 % of 2 V
    assert found(STEP.replace('"1 V"', '"0.09 V"')) == [("step.1.target", "warning")]


def test_settle_finer_than_a_count_is_a_warning() -> None:
    assert found(STEP + 'settle = "1 mV"\n') == []
    assert found(STEP + 'settle = "0.9 mV"\n') == [("step.1.settle", "warning")]


def test_an_absolute_settle_is_judged_without_a_level_too() -> None:
    peak = EXTREMUM.replace('settle = "0.15 dB"', 'settle = "0.5 mV"')
    assert ("step.1.settle", "warning") in found(peak)


def test_only_a_dwell_that_is_written_is_held_against_five_readings() -> None:
    """The least that settle (docs/uncertainty.md), 0.4 s from one to the next."""
    assert found(STEP) == []  # the dwell of everybody, 1 s, is less
    assert found(STEP + 'dwell = "1.6 s"\n') == []
    assert found(STEP + 'dwell = "1.5 s"\n') == [("step.1.dwell", "warning")]


@pytest.mark.parametrize(("frequency", "outside"), [("1 kHz", False), ("1001 Hz", True), ("39 Hz", True)])
def test_a_level_outside_the_band_is_an_error(frequency: str, outside: bool) -> None:
    steps = TONE.replace("1 kHz", frequency) + STEP
    said = [("step.1.frequency", "error"), ("step.2", "error")]
    assert found(steps) == (said if outside else [])


def test_a_filter_of_the_bench_file_narrows_the_band() -> None:
    assert found(TONE.replace("1 kHz", "100 Hz"), lowest_hz=200.0) == [("step.1.frequency", "error")]


def test_where_levels_are_only_compared_it_is_a_warning() -> None:
    tone = TONE.replace("1 kHz", "10 kHz")
    assert ("step.2", "warning") in found(tone + EXTREMUM)


def test_after_a_setup_nobody_knows_the_frequency() -> None:
    step = STEP + 'setup = "Another tone."\n'
    assert found(TONE.replace("1 kHz", "10 kHz") + step) == [("step.1.frequency", "error")]


def test_a_function_that_the_meter_has_not() -> None:
    meter = InUse("meter", METER, "voltage", Coupling.DC)
    procedure = load_procedure_text(HEAD + STEP, "p.toml")
    (one,) = meter_findings(procedure, {"output": meter})
    assert one.place == ("channel", 0, "name")
    assert "measures no voltage dc" in one.message


def test_of_channels_without_a_specification_nothing_is_said() -> None:
    procedure = load_procedure_text(HEAD + STEP.replace('"5 %"', '"1 nV"'), "p.toml")
    assert list(meter_findings(procedure, {})) == []
