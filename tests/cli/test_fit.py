"""`meterlog procedure fit`: the table of steps against meters, and the exit code that a script looks at."""

import json
from pathlib import Path

import pytest
from typer.testing import CliRunner, Result

from meterlog.cli.main import app
from tests.daemon.desk import BENCH, PROCEDURE
from tests.daemon.test_fit import ROWS

WINDOW = "0.447 dB"


def ruled(rule: str) -> str:
    return PROCEDURE.replace('revision = "', f'decision = "guard band"\n{rule}\nrevision = "', 1)


def fit(
    folder: Path, specification: str, *options: str, window: str = "0.5 dB", text: str = PROCEDURE
) -> Result:
    procedure, bench = folder / "two.toml", folder / "bench.toml"
    procedure.write_text(text.replace('"0.5 dB"', f'"{window}"'))
    bench.write_text(BENCH.replace('serial_number = "S-001"', f'specification = "{specification}"'))
    runner = CliRunner(env={"COLUMNS": "200"})
    return runner.invoke(app, ["procedure", "fit", str(procedure), "--bench", str(bench), *options])


def test_a_good_meter(tmp_path: Path) -> None:
    shown = fit(tmp_path, "bench-6.5-digits")
    assert shown.exit_code == 0, shown.output
    assert "adequate" in shown.output
    assert "not adequate" not in shown.output


def test_a_poorer_one_is_marginal_and_told_what_would_do(tmp_path: Path) -> None:
    """+4 dBu within 0.447 dB is 126.4 mV wide; 1.2 % and five counts of 1 mV as bounds give ± 16.09 mV
    (their sum's 95.45 %: k = 1.790), calculated: 3.93 to one."""
    shown = fit(tmp_path, "handheld-2000", "--json", window=WINDOW)
    (row,) = json.loads(shown.stdout)
    assert (shown.exit_code, row["fit"], row["ratio"]) == (0, "marginal", 3.93)
    assert row["why"].endswith("± 16 mV would be a quarter of it; take a meter that good there")


def test_one_that_cannot_judge_it_is_told_by_the_exit_code(tmp_path: Path) -> None:
    poor = fit(tmp_path, "handheld-2000", "--json", window="0.1 dB")
    assert poor.exit_code == 2
    assert [row["fit"] for row in json.loads(poor.stdout)] == ["not adequate"]


@pytest.mark.parametrize(
    ("rule", "passes_in", "wrongly", "at_worst"),
    [
        ("", 74.5, 0.021, 0.05),
        ('guard_band = "0.83 U"', 78.9, 0.049, 0.12),
        ('guard_band = "method 6"', 98.5, 0.75, 2.0),
        ('guard_band = "RP-10"', 99.5, 0.82, 2.2),
        ('guard_band = "root-sum-square"', 96.7, 0.61, 1.6),
    ],
)
def test_what_a_guard_band_leaves_and_what_it_passes_wrongly(
    tmp_path: Path, rule: str, passes_in: float, wrongly: float, at_worst: float
) -> None:
    """At a TUR of 3.93: 1 - 1/TUR, 1 - 0.83/TUR, Z540.3 method 6, 1.25 - 1/TUR, sqrt(1 - 1/TUR^2). The risks
    are by the formula of tests/accuracy/test_risk.py; method 6 stays below 2 %, here 1.95."""
    (row,) = json.loads(fit(tmp_path, "handheld-2000", "--json", window=WINDOW, text=ruled(rule)).stdout)
    assert row["accepted_percent"] == passes_in
    assert row["false_accept_percent"] == pytest.approx(wrongly, rel=0.1)
    assert row["worst_false_accept_percent"] == pytest.approx(at_worst, rel=0.1)


def test_by_the_limits_alone_the_whole_window_passes(tmp_path: Path) -> None:
    (row,) = json.loads(fit(tmp_path, "handheld-2000", "--json").stdout)
    assert row["accepted_percent"] == 100.0


def test_a_guard_band_that_leaves_nothing_is_not_adequate(tmp_path: Path) -> None:
    """3 U of a meter with a TUR of 2.64 (0.3 dB): good enough for the limits, for this rule it is not."""
    simple = json.loads(fit(tmp_path, "handheld-2000", "--json", window="0.3 dB").stdout)
    assert [row["fit"] for row in simple] == ["marginal"]
    found = fit(tmp_path, "handheld-2000", "--json", window="0.3 dB", text=ruled('guard_band = "3 U"'))
    (row,) = json.loads(found.stdout)
    assert (found.exit_code, row["fit"], row["accepted_percent"]) == (2, "not adequate", 0.0)
    assert row["why"].startswith("the guard band leaves nothing of the window to pass: ± 16 mV")


def test_under_a_guard_band_a_meter_that_nobody_described_is_not_adequate(tmp_path: Path) -> None:
    procedure, bench = tmp_path / "two.toml", tmp_path / "bench.toml"
    procedure.write_text(ruled(""))
    bench.write_text(BENCH)
    args = ["procedure", "fit", str(procedure), "--bench", str(bench), "--json"]
    found = CliRunner().invoke(app, args)
    (row,) = json.loads(found.stdout)
    assert (found.exit_code, row["fit"], row["meter"]) == (2, "not adequate", "")
    assert row["why"] == (
        "nobody has described it (specification in the bench file), so under the guard band nothing that it"
        " reads passes"
    )


def test_a_bench_without_descriptions_says_so(tmp_path: Path) -> None:
    procedure, bench = tmp_path / "two.toml", tmp_path / "bench.toml"
    procedure.write_text(PROCEDURE)
    bench.write_text(BENCH)
    shown = CliRunner().invoke(app, ["procedure", "fit", str(procedure), "--bench", str(bench)])
    assert shown.exit_code == 0
    assert "specification = ..." in " ".join(shown.output.split())


def test_what_is_told_in_words_can_be_read_in_a_narrow_terminal(tmp_path: Path) -> None:
    """It stands below the table, whole: a column of 80 characters' table broke its words."""
    procedure, bench = tmp_path / "two.toml", tmp_path / "bench.toml"
    procedure.write_text(PROCEDURE.replace("0.5 dB", WINDOW))
    bench.write_text(BENCH.replace('serial_number = "S-001"', 'specification = "handheld-2000"'))
    narrow = CliRunner(env={"COLUMNS": "80"})
    shown = narrow.invoke(app, ["procedure", "fit", str(procedure), "--bench", str(bench)])
    assert "its own uncertainty is large in the window: ± 16 mV, where" in shown.output


def test_a_row_of_a_table_is_named_in_the_table_and_told_by_the_exit_code(tmp_path: Path) -> None:
    """The class handheld-6000 reads to 1 kHz."""
    shown = fit(tmp_path, "handheld-6000", text=PROCEDURE + ROWS)
    assert shown.exit_code == 2
    lines = [line for line in shown.output.splitlines() if "rows " in line]
    assert ["400 Hz" in lines[0], "adequate" in lines[0], "not adequate" in lines[0]] == [True, True, False]
    assert ["10 kHz" in lines[1], "not adequate" in lines[1]] == [True, True]
    assert lines[2] == "rows 10 kHz: the frequency is outside its band"
    assert "taken" not in "".join(lines)


def test_at_the_temperature_of_the_bench_the_maker_grants_more(tmp_path: Path) -> None:
    """1.2 % to 28 degC, 0.12 % more for each kelvin above: 1.92 % and five counts of 1 mV at 34 degC, so
    ± 23.95 mV (k = 1.721) in 126.4 mV, calculated: 2.64 to one."""
    at = {degrees: ("--temperature", degrees, "--json") for degrees in ("23", "34")}
    (row,) = json.loads(fit(tmp_path, "handheld-2000", *at["34"], window=WINDOW).stdout)
    assert row["ratio"] == pytest.approx(2.64, abs=0.01)
    (usual,) = json.loads(fit(tmp_path, "handheld-2000", *at["23"], window=WINDOW).stdout)
    assert usual["ratio"] == 3.93


def test_a_temperature_that_no_bench_has_is_refused(tmp_path: Path) -> None:
    shown = fit(tmp_path, "handheld-2000", "--temperature", "-300")
    assert shown.exit_code == 2
    assert "--temperature" in shown.output


@pytest.mark.parametrize("rule", ["", 'guard_band = "1 U"'])
def test_the_headings_can_be_read_in_a_narrow_terminal(tmp_path: Path, rule: str) -> None:
    procedure, bench = tmp_path / "two.toml", tmp_path / "bench.toml"
    procedure.write_text((ruled(rule) if rule else PROCEDURE) + ROWS)
    bench.write_text(BENCH.replace('serial_number = "S-001"', 'specification = "handheld-6000"'))
    narrow = CliRunner(env={"COLUMNS": "80"})
    shown = narrow.invoke(app, ["procedure", "fit", str(procedure), "--bench", str(bench)]).output
    assert "…" not in shown
    head, _, below = shown.partition("─")
    for word in ("step", "channel", "level", "frequency", "ratio", "counts", "meter", "wrongly", "passed"):
        assert word in head
    assert ("passes" in head, head.count("%")) == ((True, 3) if rule else (False, 2))
    assert "adequate" in below
