"""The commands as a user types them: what they print, and how they say that something is wrong."""

import csv
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from meterlog.daemon.client import Client
from meterlog.records import DataFolder
from tests.daemon.process import files_in, meterlog, served

pytestmark = pytest.mark.slow


def complaint(result: object, code: int) -> str:
    """Every complaint begins with the program's name, and no traceback is ever shown."""
    assert result.returncode == code, result.stderr  # type: ignore[attr-defined]
    errors: str = result.stderr  # type: ignore[attr-defined]
    assert errors.startswith("meterlog: ")
    assert "Traceback" not in errors
    return errors


def test_a_session_from_start_to_report(tmp_path: Path) -> None:
    """Everything is skipped, for no meter is there; the record is none the less whole."""
    data = tmp_path / "data"
    with served(tmp_path):
        begun = meterlog(
            "start", "two", "--unit", "Recorder", "--serial", "17", "--operator", "me", "--data", data
        )
        assert begun.returncode == 0, begun.stderr
        assert "session 1 has begun" in begun.stdout
        assert "why" in complaint(meterlog("action", "skip", "--data", data), 1)
        for _ in range(3):
            assert meterlog("action", "skip", "--text", "no meter", "--data", data).returncode == 0
        assert meterlog("action", "go-on", "--data", data).returncode == 0
        assert "running" not in meterlog("sessions", "--data", data).stdout
        assert "three" in complaint(meterlog("start", "three", "--unit", "X", "--data", data), 2)

    listed = meterlog("sessions", "--data", data).stdout
    assert "Recorder 17" in listed
    assert "not judged" in listed
    replayed = meterlog("replay", "1", "--data", data)
    assert replayed.returncode == 0
    assert "to the last bit" in replayed.stdout

    report, table = tmp_path / "r.html", tmp_path / "t.csv"
    assert meterlog("report", "1", "-o", report, "--data", data).stdout.strip() == str(report)
    assert "Recorder" in report.read_text()
    assert meterlog("export", "1", "-f", "csv", "--readings", "-o", table, "--data", data).returncode == 0
    with table.open(newline="") as file:
        assert list(csv.DictReader(file)) == []
    copy = tmp_path / "copy.sqlite3"
    assert meterlog("backup", copy, "--data", data).returncode == 0
    assert "exists" in complaint(meterlog("backup", copy, "--data", data), 4)


def test_an_action_says_what_was_accepted_and_what_comes_next(tmp_path: Path) -> None:
    data = tmp_path / "data"

    def act(*arguments: str) -> str:
        done = meterlog("action", *arguments, "--data", data)
        assert done.returncode == 0, done.stderr
        return done.stdout

    with served(tmp_path):
        for number in ("1", "2"):
            assert meterlog("start", "two", "--unit", f"R{number}", "--data", data).returncode == 0
            assert act("note", "--text", "hum") == "note: accepted (hum)\n"
            if number == "1":
                assert "meterlog resume 1" in act("set-aside", "--text", "part missing")
        assert "note" in complaint(meterlog("action", "go-on", "--text", "hello", "--data", data), 1)
        assert "empty" in complaint(meterlog("action", "note", "--data", data), 1)
        ended = act("inoperable", "--text", "head worn")
        assert "fail, inoperable: head worn\n  its report: meterlog report 2" in ended
        listed = " ".join(meterlog("sessions", "--data", data).stdout.split())
        assert "set aside:" in listed
        assert "inoperable:" in listed
        assert "not ended" not in listed.partition("its report")[0]
        assert meterlog("resume", "1", "--data", data).returncode == 0
        assert "not ended" in meterlog("sessions", "--data", data).stdout.partition("its report")[0]
        assert "`meterlog sessions`" in complaint(meterlog("resume", "7", "--data", data), 2)


def test_a_unit_without_a_name_is_refused(tmp_path: Path) -> None:
    with served(tmp_path) as daemon:
        begun = meterlog("start", "two", "--unit", " ", "--data", daemon.data)
        assert "unit: It is blank. Write which model" in complaint(begun, 2)
        with Client(daemon.data) as client:
            assert client.get("/api/sessions") == []


@pytest.mark.parametrize(
    ("option", "value", "said"),
    [
        ("--temperature", "nan", "nan degC is no temperature of a bench; write -20 to 60"),
        ("--temperature", "90", "90 degC is no temperature of a bench; write -20 to 60"),
        ("--humidity", "inf", "inf % is no relative humidity; write 0 to 100"),
        ("--received", "20.11.2026", "'20.11.2026' is no day; write it such as 2026-11-20"),
    ],
)
def test_what_is_told_at_the_start_is_read_before_anything_begins(
    tmp_path: Path, option: str, value: str, said: str
) -> None:
    begun = meterlog("start", "two", "--unit", "X", option, value, "--data", tmp_path)
    assert begun.returncode == 2
    assert said in begun.stderr
    assert "Traceback" not in begun.stderr


def test_a_unit_that_is_still_to_come_is_refused(tmp_path: Path) -> None:
    with served(tmp_path) as daemon:
        told = ("--received", str(datetime.now(UTC).date() + timedelta(days=300)))
        begun = meterlog("start", "two", "--unit", "X", *told, "--data", daemon.data)
        assert "is still to come. Write the day the unit came" in complaint(begun, 2)


def test_a_reading_can_be_typed_in_by_a_script(tmp_path: Path) -> None:
    with served(tmp_path) as daemon:
        enter = ("action", "enter", "--text", "1.2 V", "--data", daemon.data)
        assert "no session" in complaint(meterlog(*enter), 2).lower()
        assert meterlog("start", "two", "--unit", "X", "--data", daemon.data).returncode == 0
        assert "typed" in complaint(meterlog(*enter), 1)


@pytest.mark.parametrize(
    "command", [("action", "go-on"), ("start", "two", "--unit", "X")], ids=lambda command: command[0]
)
def test_without_a_daemon_it_says_how_to_start_one(tmp_path: Path, command: tuple[str, ...]) -> None:
    assert "start it with: meterlog serve" in complaint(meterlog(*command, "--data", tmp_path), 3)


@pytest.mark.parametrize("command", ["report", "export", "replay"])
def test_a_session_that_is_not_there(tmp_path: Path, command: str) -> None:
    DataFolder(tmp_path).open().dispose()
    assert "no session 7" in complaint(meterlog(command, "7", "--data", tmp_path), 4)


def test_an_export_format_that_is_not_there(tmp_path: Path) -> None:
    DataFolder(tmp_path).open().dispose()
    errors = complaint(meterlog("export", "1", "-f", "stone", "--data", tmp_path), 2)
    assert "jsonl" in errors


def test_a_record_that_is_no_database(tmp_path: Path) -> None:
    (tmp_path / "meterlog.sqlite3").write_text("this is no database, " * 100)
    complaint(meterlog("sessions", "--data", tmp_path), 4)


def test_good_procedures_are_named_with_their_size(tmp_path: Path) -> None:
    _, _, procedures = files_in(tmp_path)
    checked = meterlog("procedure", "check", procedures / "two.toml")
    assert checked.returncode == 0
    assert "Two measurements, revision 1: 3 steps, 4 in its plan" in checked.stdout


def test_every_problem_of_every_procedure_is_said_with_its_line(tmp_path: Path) -> None:
    _, _, procedures = files_in(tmp_path)
    bad, worse = tmp_path / "bad.toml", tmp_path / "worse.toml"
    text = (procedures / "two.toml").read_text()
    bad.write_text(
        text.replace('tolerance = "0.5 dB"', 'tolerance = "half"').replace('dwell = "0.8 s"', "", 1)
    )
    worse.write_text("[[[")
    result = meterlog("procedure", "check", bad, worse, procedures / "two.toml", tmp_path / "none.toml")
    errors = complaint(result, 2)
    line = 1 + text[: text.index('tolerance = "0.5 dB"')].count("\n")
    assert f"{bad}:{line}: step.2.tolerance: " in errors
    assert f"{worse}:1: " in errors
    assert f"{tmp_path / 'none.toml'}:" in errors
    assert "Two measurements" in result.stdout, "the good one is checked all the same"


def test_a_bench_file_is_checked(tmp_path: Path) -> None:
    _, bench, _ = files_in(tmp_path)
    checked = meterlog("bench", "check", bench)
    assert checked.returncode == 0, checked.stderr
    assert "output" in checked.stdout
    bench.write_text(bench.read_text().replace('meter = "bench meter"', 'meter = "no meter"', 1))
    assert f"{bench}:" in complaint(meterlog("bench", "check", bench), 2)
    data = tmp_path / "data"
    complaint(meterlog("serve", "--bench", bench, "--data", data, "--port", "0"), 2)


def test_the_installed_drivers_are_listed_with_how_far_they_are_proven() -> None:
    listed = meterlog("drivers").stdout
    assert "scpi" in listed
    assert "proven" in listed


@pytest.mark.parametrize("command", [("action", "dance"), ("replay", "x"), ("nothing",), ("serve",)])
def test_a_wrong_command_line_is_said_without_a_traceback(command: tuple[str, ...]) -> None:
    result = meterlog(*command)
    assert result.returncode == 2
    assert "Traceback" not in result.stderr
    assert "Error: " in result.stderr


def test_follow_needs_a_terminal(tmp_path: Path) -> None:
    assert "terminal" in complaint(meterlog("follow", "--data", tmp_path), 2)
