"""From checks over frequency to a profile. The response is a first-order low pass (any textbook), the figures
of the checks are made up."""

import math
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from meterlog.bench import SystemClock, load_bench, load_profile_text
from meterlog.checking.errors import CheckError
from meterlog.checking.points_file import load_points_text
from meterlog.checking.profile import profile_text, sweep_of
from meterlog.checking.result import Told
from meterlog.checking.run import run_checks
from meterlog.checking.setting import setting_of
from meterlog.cli.main import app
from meterlog.files import FileError
from meterlog.reading import Coupling
from meterlog.records import DataFolder, MeterCheck, Papers, add_meter_check
from tests.checking.made import check
from tests.checking.meters import bench_meter, bench_text
from tests.checking.test_run import Ready

HERTZ = (100.0, 1000.0, 4000.0, 10000.0)
CORNER_HZ, GAIN = 10000.0, 1.003
SWEEP = """
[checks]
title = "Response"
[[reference]]
name = "source"
[[point]]
name = "0.775 V"
coupling = "ac"
frequencies = ["100 Hz", "1 kHz", "4 kHz", "10 kHz"]
reference = "source"
value = "0.775 V"
uncertainty = "0.2 %"
settle = "0.1 %"
dwell = "0.8 s"
"""
ONE_OF_IT = """
[[point]]
name = "0.775 V, 1 kHz"
coupling = "ac"
frequency = "1 kHz"
reference = "source"
value = "1 V"
uncertainty = "1 %"
"""
NAMES = [point.name for point in load_points_text(SWEEP, "sweep.toml").points]


def shown(hertz: float) -> float:
    """Of 1 V: -10 log10(1 + (f/fc)^2) dB, and 0.3 % too much at every frequency."""
    return GAIN / math.sqrt(1.0 + (hertz / CORNER_HZ) ** 2)


def sweep(**more: object) -> list[MeterCheck]:
    """0.2 % of the reference (k = 2), 0.05 % of the readings."""
    made = [
        check(
            0.0, 0.0, meter="hand", point=name, frequency_hz=hertz, full_scale=6.0, reference_value=1.0,
            reference_uncertainty=0.002, indicated=shown(hertz), standard_uncertainty=0.0005 * shown(hertz),
            coupling=Coupling.AC, reference_serial="R-12",
        )
        for name, hertz in zip(NAMES, HERTZ, strict=True)
    ]  # fmt: skip
    return [replace(one, **more) for one in made]  # type: ignore[arg-type]


def test_a_sweep_is_a_point_for_each_frequency() -> None:
    points = load_points_text(SWEEP, "sweep.toml").points
    assert [(one.name, one.frequency_hz) for one in points] == list(zip(NAMES, HERTZ, strict=True))
    assert NAMES[1] == "0.775 V, 1 kHz"
    assert [one.setup for one in points] == ["", *(f"The source to {name[9:]}." for name in NAMES[1:])]


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"100 Hz", ', '"100 Hz", "0.1 kHz", ', "one of them stands there twice"),
        ('"100 Hz", ', '"100 mV", ', "write frequencies above 0"),
        ("frequencies =", 'frequency = "1 kHz"\nfrequencies =', "either frequency or frequencies"),
        ("[[point]]", f"{ONE_OF_IT}[[point]]", "is one of a sweep"),
    ],
)
def test_a_sweep_that_cannot_be_is_refused(old: str, new: str, message: str) -> None:
    with pytest.raises(FileError) as error:
        load_points_text(SWEEP.replace(old, new, 1), "sweep.toml")
    assert message in str(error.value)


def test_the_gain_falls_out_and_the_response_stays() -> None:
    made = load_profile_text(profile_text(sweep(), 1000.0, 180.0), "made.toml")
    assert [row.frequency_hz for row in made.rows] == list(HERTZ)
    truly = [20.0 * math.log10(shown(hertz) / shown(1000.0)) for hertz in HERTZ]
    assert [row.deviation_db for row in made.rows] == pytest.approx(truly, abs=1e-4)
    # 0.1 % and 0.05 % standard, at both frequencies: 0.158 % or 0.0137 dB
    one = math.hypot(0.001, 0.0005) * math.sqrt(2.0) * 20.0 / math.log(10.0)
    assert made.rows[0].standard_uncertainty_db == pytest.approx(one, rel=0.05)
    assert (made.full_scale, made.meter, made.valid_days, made.against) == (6.0, "hand", 180.0, "source R-12")


def test_only_the_newest_check_of_a_point_counts() -> None:
    old = [one for one in sweep(time_ns=1) if one.frequency_hz == 100.0]
    assert sweep_of([*old, *sweep()], "hand", NAMES) == sweep()


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        ({"serial_number": "2"}, "several meters: hand, hand 2"),
        ({"full_scale": 60.0}, "several ranges: 6 V, 60 V"),
        ({"reference": "another"}, "several references"),
        ({"time_ns": 1}, "not taken on one day"),
    ],
)
def test_what_is_no_one_response_is_refused(changed: dict[str, object], message: str) -> None:
    mixed = [*sweep()[:3], sweep(**changed)[3]]
    with pytest.raises(CheckError, match=message):
        sweep_of(mixed, "", NAMES)


def test_the_frequency_that_it_is_about_must_be_among_them() -> None:
    with pytest.raises(CheckError, match=r"no point is at 2 kHz.*there are 100 Hz, 1 kHz, 4 kHz, 10 kHz"):
        profile_text(sweep(), 2000.0, 365.0)
    with pytest.raises(CheckError, match="three frequencies are the fewest"):
        profile_text(sweep()[:2], 1000.0, 365.0)


def test_the_command_writes_what_a_bench_file_can_name(tmp_path: Path) -> None:
    folder = DataFolder(tmp_path)
    with folder.hold():
        record = folder.open()
        for one in sweep():
            add_meter_check(record, one, Papers(points=SWEEP, bench="[bench]"))
    (tmp_path / "sweep.toml").write_text(SWEEP)
    output = tmp_path / "hand.toml"
    asked = ["check", "profile", str(tmp_path / "sweep.toml"), "-o", str(output), "--data", str(tmp_path)]
    found = CliRunner().invoke(app, asked)
    assert found.exit_code == 0, found.output
    assert "  10 kHz: -2.967 dB, ± 0.027 dB (k = 2)" in found.output
    assert load_profile_text(output.read_text(), "hand.toml").rows[1].deviation_db == 0.0
    again = CliRunner().invoke(app, asked)
    assert isinstance(again.exception, CheckError)
    assert "is there already" in str(again.exception)


@pytest.mark.wire
@pytest.mark.usefixtures("real_drivers")
def test_a_sweep_on_wires_becomes_a_profile(tmp_path: Path) -> None:
    """Both simulated meters are flat: no deviation, however much the gain of one is off."""
    text = SWEEP.replace('reference = "source"', 'against = "second meter ac"\nrange = "1 V"')
    with bench_meter(1.002) as meter, bench_meter() as second:
        path = tmp_path / "bench.toml"
        dc = bench_text(meter.address, second.address)
        path.write_text(dc.replace(' dc"', ' ac"').replace('"dc"', '"ac"').replace('"10 V"', '"1 V"'))
        points = load_points_text(text, "sweep.toml")
        settings = [setting_of(point, load_bench(path), "bench meter") for point in points.points]
        taken = list(run_checks(points, settings, Ready(), told=Told(), clock=SystemClock()))
    made = tomllib.loads(profile_text(sweep_of(taken, "bench meter", NAMES), 1000.0, 365.0))
    assert [abs(float(row["deviation"][:-3])) < 0.005 for row in made["row"]] == [True] * 3
