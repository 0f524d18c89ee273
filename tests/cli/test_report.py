"""meterlog report: its forms, in this process for the sake of time."""

from pathlib import Path

import pytest
from typer.testing import CliRunner

from meterlog.cli.main import app
from meterlog.records import DataFolder
from meterlog.report import NotIssued
from tests.report.recorded import Recorded


@pytest.fixture
def data(tmp_path: Path) -> Path:
    folder = tmp_path / "data"
    engine = DataFolder(folder).open()
    with Recorded(engine) as session:
        session.settle_at(15.0)
        session.go_on()
    engine.dispose()
    return folder


def report(data: Path, *arguments: str | Path) -> tuple[int, str]:
    done = CliRunner().invoke(app, ["report", "1", "--data", str(data), *map(str, arguments)])
    return done.exit_code, done.output


@pytest.mark.parametrize(
    ("name", "options", "begins"),
    [
        ("r.html", (), "<!DOCTYPE html>"),
        ("r.pdf", ("--paper", "letter"), "%PDF-"),
        ("s.pdf", ("--sheet", "--customer", "A. Customer"), "%PDF-"),
        ("s.html", ("--sheet",), "<!DOCTYPE html>"),
    ],
)
def test_the_name_of_the_file_says_which_form(
    data: Path, tmp_path: Path, name: str, options: tuple[str, ...], begins: str
) -> None:
    path = tmp_path / name
    assert report(data, "-o", path, *options) == (0, f"{path}\n")
    assert path.read_bytes().lstrip().startswith(begins.encode())


def test_a_batch_as_pdf(data: Path, tmp_path: Path) -> None:
    file, path = tmp_path / "batch.toml", tmp_path / "batch.pdf"
    file.write_text('[batch]\nname = "June"\nprocedure = "supply"\nunit_model = "Any"\nserials = ["7"]\n')
    done = CliRunner().invoke(app, ["batch", str(file), "-o", str(path), "--data", str(data)])
    assert (done.exit_code, done.output) == (0, f"{path}\n")
    assert path.read_bytes().startswith(b"%PDF-")
    shown = CliRunner().invoke(app, ["batch", str(file), "--data", str(data)])
    assert "0 of 1 units are done" in shown.output


def test_paper_that_is_not_there(data: Path) -> None:
    code, output = report(data, "--paper", "a5")
    assert code == 2
    assert "papers are a4, letter" in " ".join(output.replace("│", "").split())


def test_one_that_was_issued_is_written_again_and_its_number_listed(data: Path, tmp_path: Path) -> None:
    first, again = tmp_path / "first.pdf", tmp_path / "again.pdf"
    assert report(data, "-o", first, "--issue") == (0, f"report 1-1: {first}\n")
    assert report(data, "-o", again, "--issued", "1-1") == (0, f"{again}\n")
    assert again.read_bytes() == first.read_bytes()
    listed = CliRunner().invoke(app, ["sessions", "--data", str(data)]).output
    assert "1-1" in listed


@pytest.mark.parametrize("option", ["--issued", "--replaces"])
def test_an_empty_number_is_not_taken_for_none(data: Path, tmp_path: Path, option: str) -> None:
    code, output = report(data, "-o", tmp_path / "r.html", option, " ")
    assert code == 2
    assert f"{option}: is empty; write the number of a report, such as 12-1" in " ".join(
        output.replace("│", "").split()
    )
    assert not (tmp_path / "r.html").exists()


def test_what_was_issued_takes_no_other_form_and_has_to_be_there(data: Path, tmp_path: Path) -> None:
    path = tmp_path / "again.pdf"
    code, output = report(data, "-o", path, "--issued", "1-1", "--sheet")
    assert code == 2
    assert "only -o goes with it" in " ".join(output.replace("│", "").split())
    asked = ["report", "1", "--data", str(data), "-o", str(path), "--issued", "1-1"]
    assert isinstance(CliRunner().invoke(app, asked).exception, NotIssued)
    assert not path.exists()
