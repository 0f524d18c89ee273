"""meterlog check as a user types it: a run on a terminal with a simulated meter on a socket, and the rest."""

import json
import os
import pty
import subprocess
from datetime import UTC, datetime
from pathlib import Path

import pytest
from typer.testing import CliRunner

from meterlog.cli.main import app
from meterlog.records import DataFolder, Writer
from tests.checking.meters import bench_meter, bench_text
from tests.checking.test_run import POINTS
from tests.checking.year import session
from tests.cli.test_commands import complaint
from tests.daemon.process import COMMAND, environment, meterlog, served

pytestmark = [pytest.mark.slow, pytest.mark.wire]


def at_the_terminal(*arguments: str | Path, typed: str) -> tuple[int, str]:
    """(exit code, what stands on the terminal); what is typed waits there until it is asked for."""
    own, theirs = pty.openpty()
    process = subprocess.Popen(
        [*COMMAND, *map(str, arguments)], stdin=theirs, stdout=theirs, stderr=theirs, env=environment()
    )
    os.close(theirs)
    os.write(own, typed.encode())
    shown = b""
    try:
        while chunk := os.read(own, 4096):
            shown += chunk
    except OSError:  # Linux ends a terminal so, once nobody is on the other side
        pass
    finally:
        os.close(own)
    return process.wait(60), shown.decode()


def called(*arguments: str | Path, code: int = 0) -> str:
    """What a command prints that needs no terminal; in this process, which is quicker."""
    done = CliRunner().invoke(app, ["check", *map(str, arguments)])
    assert done.exit_code == code, done.output
    return done.stdout


def files(folder: Path, address: str) -> tuple[Path, Path, Path]:
    bench, points = folder / "bench.toml", folder / "points.toml"
    bench.write_text(bench_text(address))
    points.write_text(POINTS)
    return points, bench, folder / "data"


def test_from_a_good_check_to_one_outside_and_what_it_touched(tmp_path: Path) -> None:
    """The second run is with the meter 0.05 % too high: 10 V dc may be off by 0.005 %, 0.775 V ac by 0.1."""
    with bench_meter(1.0) as meter:
        points, bench, data = files(tmp_path, meter.address)
        run = ("check", "run", points, "--bench", bench, "--data", data)
        code, shown = at_the_terminal(*run, "--temperature", "23.5", typed="\n\n")
        assert code == 0, shown
        assert "dc: 10.00006 V dc, from source" in shown
        assert "ac: 0.7746 V ac at 1 kHz on range 1 V, from source" in shown
        assert shown.count("; inside ±") == 2
        assert "2 of 2 points taken" in shown
        assert "next check by" in shown
    writer = Writer(DataFolder(data).open())
    number = session(writer, datetime.now(UTC))
    writer.close()
    with bench_meter(1.0005) as meter:
        files(tmp_path, meter.address)
        code, shown = at_the_terminal(*run, typed="\ns\n")
        assert code == 1, shown
        assert "more than the uncertainties explain" in shown
        assert "outside ±" in shown
        assert "1 of 2 points taken" in shown
        assert "bench meter (S-001): found outside at dc on" in shown
        assert f"│ {number} " in shown
        assert "Two-track recorder 0042" in shown

    told = json.loads(
        meterlog("check", "history", "--data", data, "--json", "-o", tmp_path / "h.html").stdout
    )
    assert {(one["point"], one["standing"], len(one["checks"])) for one in told} == {
        ("dc", "outside", 2),
        ("ac", "inside", 1),
    }
    assert told[1]["checks"][0]["temperature_c"] == 23.5
    assert "already outside" in " ".join(told[1]["words"])
    assert "<svg" in (tmp_path / "h.html").read_text()
    asked = json.loads(called("touched", "--meter", "S-001", "--data", data, "--json", code=1))
    assert [one["id"] for one in asked[0]["sessions"]] == [number]
    assert f"│ {number} " in called(
        "touched", "--meter", "bench meter", "--since", "2026-01-01", "--data", data, code=1
    )
    slip = CliRunner().invoke(app, ["check", "touched", "--meter", "bench metre", "--data", str(data)])
    assert "meters with checks: 'bench meter'" in str(slip.exception)


def test_while_the_daemon_holds_the_meter(tmp_path: Path) -> None:
    points, _, _ = files(tmp_path, "TCPIP::192.0.2.7::9::SOCKET")
    with served(tmp_path) as daemon:
        refused = meterlog(
            "check", "run", points, "--bench", daemon.bench, "--meter", "bench meter", "--data", daemon.data
        )
        assert "the daemon reads bench meter, spare meter: end it (Ctrl-C" in complaint(refused, 2)


def test_a_temperature_that_no_bench_has_is_refused_before_anything_is_opened(tmp_path: Path) -> None:
    points, bench, data = files(tmp_path, "TCPIP::192.0.2.7::9::SOCKET")
    refused = meterlog("check", "run", points, "--bench", bench, "--data", data, "--temperature", "nan")
    assert refused.returncode == 2
    assert "--temperature: nan degC is no temperature of a bench; write -20 to 60" in refused.stderr
    assert not data.exists()


def test_a_points_file_is_refused_with_line_and_field(tmp_path: Path) -> None:
    points, bench, data = files(tmp_path, "TCPIP::192.0.2.7::9::SOCKET")
    points.write_text(POINTS.replace('"50 uV"', '"50 uA"'))
    refused = meterlog("check", "run", points, "--bench", bench, "--data", data)
    line = 1 + POINTS[: POINTS.index('"50 uV"')].count("\n")
    assert f"points.toml:{line}: point.1.uncertainty: 50 uA does not fit" in complaint(refused, 2)
    assert "no record in" in complaint(meterlog("check", "history", "--data", data), 4)
