"""Files with a meter's own frequency response: what they hold, what is refused. All figures are made up."""

from pathlib import Path

import pytest

from meterlog.accuracy.profile import ProfileRow
from meterlog.bench import BenchError, load_bench
from meterlog.bench.profile_file import load_profile_text
from meterlog.quantity import ratio_from_db
from meterlog.shipped import shipped

TEXT = """[profile]
meter = "hand"
serial_number = "12"
range = "6 V"
measured = 2026-05-02
against = "bench meter"
reference_frequency = "1 kHz"
[[row]]
frequency = "100 Hz"
deviation = "-1 %"
uncertainty = "0.1 %"
k = 2
[[row]]
frequency = "10 kHz"
deviation = "-1.5 dB"
uncertainty = "0.06 dB"
k = 3
"""
BENCH = """[bench]
name = "Bench"
[[meter]]
name = "hand"
driver = "fs9721"
address = "/dev/none"
specification = "handheld-6000"
[[channel]]
name = "output"
meter = "hand"
coupling = "ac"
profile = "hand.toml"
correct = true
"""


def test_rows_come_in_decibels_with_standard_uncertainties_and_the_reference_among_them() -> None:
    made = load_profile_text(TEXT, "p.toml")
    assert [row.frequency_hz for row in made.rows] == [100.0, 1000.0, 10000.0]
    assert ratio_from_db(made.rows[0].deviation_db) == pytest.approx(0.99)
    assert ratio_from_db(2 * made.rows[0].standard_uncertainty_db) == pytest.approx(1.001)
    assert made.rows[1:] == (ProfileRow(1000.0, 0.0, 0.0), ProfileRow(10000.0, -1.5, pytest.approx(0.02)))
    assert (made.full_scale, made.valid_days) == (6.0, 365.0)


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"-1.5 dB"', '"-1.5 V"', "p.toml:15: row.2.deviation: -1.5 V is no deviation"),
        ('"0.06 dB"', '"6 mV"', "p.toml:16: row.2.uncertainty: 6 mV is none of a deviation"),
        ('"6 V"', '"6 kohm"', "p.toml:4: profile.range: a range of 6 kohm is none of voltage"),
        (
            '"100 Hz"',
            '"20 kHz"',
            "p.toml:14: row.2.frequency: 10 kHz comes after 20 kHz; rows go",
        ),
        ('"1 kHz"', '"10 kHz"', "p.toml:14: row.2.frequency: leave out the row at 10 kHz"),
        ('reference_frequency = "1 kHz"\n', "", "profile.reference_frequency: missing"),
        ("measured = 2026-05-02", 'measured = "yesterday"', "profile.measured"),
        (
            'range = "6 V"',
            'coupling = "dc"\nrange = "6 V"',
            "p.toml:4: profile.coupling: a freq",
        ),
        (
            'range = "6 V"',
            'function = "temperature"\nrange = "6 V"',
            "p.toml:4: profile.function: a freq",
        ),
        ('range = "6 V"', 'range = "6 V"\nvalid_days = inf', "p.toml:5: profile.valid_days: write a finite"),
        ('range = "6 V"', 'range = "6 V"\nvalid_days = nan', "p.toml:5: profile.valid_days: write a finite"),
        ('"-1 %"', '"0 dB"\nextra = 1', "no such field here"),
    ],
)
def test_what_is_wrong_is_said_with_its_place(old: str, new: str, message: str) -> None:
    with pytest.raises(BenchError) as error:
        load_profile_text(TEXT.replace(old, new, 1), "p.toml")
    assert message in str(error.value)
    assert str(error.value).startswith("p.toml:")


def test_one_row_says_nothing_of_what_lies_between() -> None:
    with pytest.raises(BenchError, match=r"^p.toml:8: row.1: write two rows at least"):
        load_profile_text(TEXT[: TEXT.rindex("[[row]]")], "p.toml")


def bench_with(folder: Path, bench: str = BENCH, profile: str = TEXT) -> Path:
    (folder / "hand.toml").write_text(profile)
    path = folder / "bench.toml"
    path.write_text(bench)
    return path


def test_a_channel_names_it_from_the_bench_file_on(tmp_path: Path) -> None:
    bench = load_bench(bench_with(tmp_path))
    used = bench.in_use()["output"]
    assert used.correct
    assert used.profile == load_profile_text(TEXT, "")
    assert bench.profile_texts == {"output": TEXT}


@pytest.mark.parametrize(
    ("old", "new", "message"),
    [
        ('"hand.toml"', '"other.toml"', "bench.toml:12: channel.1.profile"),
        ('profile = "hand.toml"\n', "", "correct by what?"),
        ('specification = "handheld-6000"\n', "", "must stand in its `specification`"),
        (
            'coupling = "ac"',
            'coupling = "dc"',
            "it was measured on voltage ac, and the channel reads voltage dc",
        ),
        ('coupling = "ac"', 'coupling = "ac"\nrange = "60 V"', "another range than 60 V"),
        ('driver = "fs9721"', 'driver = "fs9721"\nserial_number = "13"', "serial number '12'"),
        (
            'name = "hand"\ndriver',
            'name = "arm"\ndriver',
            "it is of the meter 'hand', and the channel is of 'arm'",
        ),
    ],
)
def test_a_profile_of_something_else_is_refused(tmp_path: Path, old: str, new: str, message: str) -> None:
    text = BENCH.replace(old, new)
    text = text.replace('meter = "hand"', 'meter = "arm"') if '"arm"' in new else text
    with pytest.raises(BenchError) as error:
        load_bench(bench_with(tmp_path, text))
    assert message in str(error.value)


@pytest.mark.parametrize("path", shipped("profiles"), ids=lambda path: path.stem)
def test_the_shipped_examples_are_sound(path: Path) -> None:
    assert load_profile_text(path.read_text(), path.name).band.high > 1000.0
