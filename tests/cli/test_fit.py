"""`meterlog procedure fit`: the table of steps against meters, and the exit code that a script looks at."""

import json
from pathlib import Path

from typer.testing import CliRunner, Result

from meterlog.cli.main import app
from tests.daemon.desk import BENCH, PROCEDURE


def fit(folder: Path, specification: str, *options: str, window: str = "0.5 dB") -> Result:
    procedure, bench = folder / "two.toml", folder / "bench.toml"
    procedure.write_text(PROCEDURE.replace('"0.5 dB"', f'"{window}"'))
    bench.write_text(BENCH.replace('serial_number = "S-001"', f'specification = "{specification}"'))
    runner = CliRunner(env={"COLUMNS": "200"})
    return runner.invoke(app, ["procedure", "fit", str(procedure), "--bench", str(bench), *options])


def test_a_good_meter(tmp_path: Path) -> None:
    shown = fit(tmp_path, "bench-6.5-digits")
    assert shown.exit_code == 0, shown.output
    assert "adequate" in shown.output
    assert "not adequate" not in shown.output


def test_a_poorer_one_is_marginal_and_told_what_would_do(tmp_path: Path) -> None:
    """+4 dBu within 0.5 dB is 141.4 mV wide; 1.2 % and five counts of 1 mV as bounds give ± 17.97 mV
    (k = 2), calculated: 3.93 to one."""
    shown = fit(tmp_path, "handheld-2000", "--json")
    (row,) = json.loads(shown.stdout)
    assert (shown.exit_code, row["fit"], row["ratio"]) == (0, "marginal", 3.93)
    assert row["why"].endswith("± 18 mV would be a quarter of it; take a meter that good there")


def test_one_that_cannot_judge_it_is_told_by_the_exit_code(tmp_path: Path) -> None:
    poor = fit(tmp_path, "handheld-2000", "--json", window="0.1 dB")
    assert poor.exit_code == 2
    assert [row["fit"] for row in json.loads(poor.stdout)] == ["not adequate"]


def test_a_bench_without_descriptions_says_so(tmp_path: Path) -> None:
    procedure, bench = tmp_path / "two.toml", tmp_path / "bench.toml"
    procedure.write_text(PROCEDURE)
    bench.write_text(BENCH)
    shown = CliRunner().invoke(app, ["procedure", "fit", str(procedure), "--bench", str(bench)])
    assert shown.exit_code == 0
    assert "specification = ..." in " ".join(shown.output.split())
