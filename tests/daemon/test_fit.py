"""Whether a bench offers what a procedure asks: by unit and coupling, named in the user's words."""

from pathlib import Path

import pytest

from meterlog.bench import FUNCTION_UNITS
from meterlog.daemon.errors import Refusal
from meterlog.daemon.fit import (
    NotAdequate,
    fit_json,
    notes_of_override,
    require_fit,
    step_fits,
    warnings_before,
)
from meterlog.procedure import Procedure
from meterlog.quantity import Unit
from tests.daemon.desk import BENCH, PROCEDURE, bench_in, procedure


def bench_text(function: str) -> str:
    """The bench of the desk, its channel "output" measuring something without a coupling."""
    return BENCH.replace('function = "voltage"\ncoupling = "ac"\nshow = "dBV"', f'function = "{function}"', 1)


def wanting(unit: str) -> Procedure:
    """The head and the warm-up of the desk's procedure, its channel in another unit."""
    text = PROCEDURE.replace('unit = "V"\ncoupling = "ac"\nshow = "dBu"', f'unit = "{unit}"')
    found: Procedure = procedure(text[: text.index('[[step]]\nid = "level"')])
    return found


def problems(folder: Path, function: str, unit: str) -> tuple[str, ...]:
    try:
        require_fit(bench_in(folder, bench_text(function)), wanting(unit))
    except Refusal as refusal:
        return refusal.problems
    return ()


def test_a_unit_whose_name_is_a_part_of_another_does_not_fit(tmp_path: Path) -> None:
    """H is henry and Hz hertz (SI brochure, table 4): one is not a kind of the other."""
    assert problems(tmp_path, "frequency", "H") == ("channel 'output': wanted H, the bench offers Hz",)


@pytest.mark.parametrize("unit", ["Hz", "H", "ohm", "F", "s", "W", "%"])
@pytest.mark.parametrize(
    "function", ["frequency", "inductance", "resistance", "capacitance", "period", "power"]
)
def test_only_the_same_unit_fits(function: str, unit: str, tmp_path: Path) -> None:
    offered = FUNCTION_UNITS[function]
    expected = (
        () if Unit(unit) is offered else (f"channel 'output': wanted {unit}, the bench offers {offered}",)
    )
    assert problems(tmp_path, function, unit) == expected


ABLE = BENCH.replace('serial_number = "S-001"', 'specification = "handheld-6000"')


def test_a_step_that_its_meter_cannot_do_is_refused_with_its_line(tmp_path: Path) -> None:
    """+4 dBu is 1.2277 V (ITU-R V.574), so it is read in 1 mV: the window of +-0.005 dB is 1.4 mV wide."""
    bench, narrow = bench_in(tmp_path, ABLE), PROCEDURE.replace('"0.5 dB"', '"0.005 dB"')
    require_fit(bench, procedure())
    line = 1 + narrow[: narrow.index('"0.005 dB"')].count("\n")
    with pytest.raises(Refusal, match="window is under two counts") as caught:
        require_fit(bench, procedure(narrow))
    (problem,) = caught.value.problems
    assert f":{line}: step.2.tolerance: " in problem


def test_what_is_only_a_warning_does_not_refuse(tmp_path: Path) -> None:
    bench = bench_in(tmp_path, ABLE)
    require_fit(bench, procedure())
    told = warnings_before(bench, procedure(), "two.toml")
    assert [one.split(": ")[1] for one in told] == ["step.2.dwell", "step.3.dwell"]
    assert warnings_before(bench_in(tmp_path), procedure(), "two.toml") == []


# 6000 counts and 1 % at 1 kHz (the shipped class of meters): +-0.1 dB of 1.2277 V is more than it can judge
TIGHT = PROCEDURE.replace('"0.5 dB"', '"0.1 dB"')


def test_a_meter_that_is_not_good_enough_is_named_with_what_would_be(tmp_path: Path) -> None:
    bench = bench_in(tmp_path, ABLE)
    with pytest.raises(Refusal, match="not adequate") as caught:
        notes_of_override(bench, procedure(TIGHT), "")
    assert caught.value.status == 422
    assert any("take a meter that good there" in problem for problem in caught.value.problems)
    assert "override" in caught.value.do


def test_with_a_reason_it_is_noted_and_begun(tmp_path: Path) -> None:
    notes = notes_of_override(bench_in(tmp_path, ABLE), procedure(TIGHT), "the good one is away")
    assert notes
    assert all(note.startswith("Begun all the same: the good one is away (") for note in notes)


def test_a_good_meter_needs_no_word(tmp_path: Path) -> None:
    good = BENCH.replace('serial_number = "S-001"', 'specification = "bench-6.5-digits"')
    assert notes_of_override(bench_in(tmp_path, good), procedure(), "") == []


def test_of_a_meter_that_nobody_described_nothing_is_said(tmp_path: Path) -> None:
    assert step_fits(bench_in(tmp_path, BENCH), procedure()) == []


def test_under_a_guard_band_a_meter_that_nobody_described_needs_a_reason(tmp_path: Path) -> None:
    """Known before the session begins, and on its record: nothing that it reads would pass."""
    guarded = procedure(PROCEDURE.replace('revision = "', 'decision = "guard band"\nrevision = "', 1))
    with pytest.raises(Refusal, match="the meter of 'output' is not adequate, nobody has described it"):
        notes_of_override(bench_in(tmp_path), guarded, "")
    (note,) = notes_of_override(bench_in(tmp_path), guarded, "the limits are what counts")
    assert note.startswith("Begun all the same: the limits are what counts (level: the meter of 'output'")
    assert notes_of_override(bench_in(tmp_path), procedure(), "") == []


ROWS = """
[[step]]
id = "rows"
title = "Rows"
pattern = "table"
channel = "output"
tolerance = "0.5 dB"
[[step.row]]
at = "400 Hz"
expected = "0 dBu"
[[step.row]]
at = "10 kHz"
expected = "0 dBu"
"""


def test_a_row_that_its_meter_does_not_read_needs_a_reason_that_names_it(tmp_path: Path) -> None:
    """The class reads to 1 kHz; at 400 Hz it is good enough."""
    bench = bench_in(tmp_path, ABLE)
    with pytest.raises(NotAdequate) as caught:
        notes_of_override(bench, procedure(PROCEDURE + ROWS), "")
    assert caught.value.problems == (
        "rows 10 kHz: 'bench meter' is not adequate, the frequency is outside its band",
    )
    (note,) = notes_of_override(bench, procedure(PROCEDURE + ROWS), "no other at hand")
    assert note.startswith("Begun all the same: no other at hand (rows 10 kHz: ")


def test_a_level_that_was_calculated_is_told_without_its_rounding_error(tmp_path: Path) -> None:
    about = ROWS.replace('"0 dBu"', '"-20 dB"').replace('"rows"', '"rows"\nreference = "level"')
    rows = [fit_json(one) for one in step_fits(bench_in(tmp_path, ABLE), procedure(PROCEDURE + about))]
    assert [(row["part"], row["level"]) for row in rows] == [
        ("", "+4 dBu"),
        ("400 Hz", "-16 dBu"),
        ("10 kHz", "-16 dBu"),
    ]
