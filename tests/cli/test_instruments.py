"""meterlog instruments: what is printed, written and refused. Ports are pseudo-terminals, listed by hand."""

import json
import re
import threading
import tomllib
from collections.abc import Iterator, Sequence
from pathlib import Path

import pytest
from click.testing import Result
from rich.text import Text
from typer.testing import CliRunner

from meterlog.bench import BenchError, load_bench
from meterlog.bench.find import NamedPort, Port, name_ports
from meterlog.cli import unplugging
from meterlog.cli.follow.picture import Scene, foot
from meterlog.cli.main import app
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.handheld import DC_PLAN, Handheld
from meterlog.simulate.meter import MeterModel
from meterlog.testing import Instrument, Terminal
from tests.daemon.desk import BENCH
from tests.daemon.process import meterlog, served

pytestmark = pytest.mark.wire
IDENTITY = b"Some Maker,M-65,17,2.0\n"


@pytest.fixture
def handheld(tmp_path: Path) -> Iterator[str]:
    """The port of a meter that shows 1.5 V dc within its 0.5 % in FS9721_LP3 frames."""
    model = MeterModel(DC_PLAN, lambda _: 1.5, "handheld")
    meter = Handheld("handheld", model, "dc", tmp_path / "handheld", RunningClock())
    meter.start()
    yield meter.address
    meter.close()


@pytest.fixture
def bench_meter() -> Iterator[str]:
    """The address of a meter that says its name, and nothing else."""
    with Instrument(lambda line: [(0.0, IDENTITY)] if b"*IDN?" in line else []) as far:
        yield f"TCPIP::127.0.0.1::{far.port}::SOCKET"


@pytest.fixture
def listed(monkeypatch: pytest.MonkeyPatch) -> list[NamedPort]:
    """What the system lists; empty at first."""
    ports: list[NamedPort] = []
    monkeypatch.setattr("meterlog.cli.instruments.serial_ports", lambda: list(ports))
    return ports


def run(tmp_path: Path, *arguments: str) -> Result:
    return CliRunner().invoke(app, ["instruments", *arguments, "--data", str(tmp_path / "data")])


def test_a_handheld_is_in_a_bench_file_by_one_command(
    tmp_path: Path, handheld: str, listed: list[NamedPort]
) -> None:
    listed += name_ports([Port(handheld, "USB serial", usb="0403:6001:A1")])
    path = tmp_path / "bench.toml"
    done = run(tmp_path, "find", "--driver", "fs9721", "--write", str(path), "--channel", "panel")
    assert done.exit_code == 0, done.output
    assert "✓ fs9721 at 2400 baud 8N1" in done.stdout
    assert re.search(r"shows: 1\.(49|50)", done.stdout)
    [channel] = load_bench(path).channels
    assert (channel.name, channel.function, str(channel.coupling)) == ("panel", "voltage", "dc")
    assert load_bench(path).meters[0].address == handheld

    again = run(tmp_path, "find", "--driver", "fs9721", "--write", str(path))
    assert again.exit_code == 2
    assert "is the same line as" in again.stderr


def test_an_instrument_on_the_network_is_named_by_hand(tmp_path: Path, bench_meter: str) -> None:
    done = run(tmp_path, "find", "--driver", "scpi", "--address", bench_meter, "--coupling", "dc")
    assert done.exit_code == 0, done.output
    assert "says of itself: Some Maker,M-65,17,2.0" in done.stdout
    assert 'identity = "M-65"' in done.stdout
    assert 'coupling = "dc"' in done.stdout
    assert "[[source]]" in done.stdout, "it may be a generator"


def test_programs_get_everything(tmp_path: Path, bench_meter: str, listed: list[NamedPort]) -> None:
    with Terminal() as silent:
        listed += name_ports([Port(silent.path, usb="0403:6001:A1")])
        done = run(
            tmp_path,
            *("find", "--json", "--driver", "scpi", "--address", bench_meter, "--address", silent.path),
        )
    assert done.exit_code == 0, done.output
    answer = json.loads(done.stdout)
    assert [port["port"]["device"] for port in answer["ports"]] == [silent.path]
    known, unknown = answer["found"]
    assert known["matches"][0]["identity"]["model"] == "M-65"
    assert bytes.fromhex(known["heard"][0]["data"]) == IDENTITY
    assert tomllib.loads(known["entry"])["meter"][0]["address"] == bench_meter
    assert (unknown["trouble"], unknown["entry"]) == ("silent", "")
    assert unknown["do"]


def test_nobody_there_is_an_answer_of_no(tmp_path: Path, listed: list[NamedPort]) -> None:
    done = run(tmp_path, "find")
    assert done.exit_code == 1
    assert "no serial port was found" in done.stdout


def test_what_is_wrong_is_printed_with_what_was_heard(tmp_path: Path) -> None:
    with Terminal() as noisy, noisy.talking(b"\x9c\xfe"):
        done = run(tmp_path, "find", "--driver", "fs9721", "--address", noisy.path)
    assert done.exit_code == 1
    assert "✗ bytes came, but no driver recognises them; tried: 2400 baud 8N1" in done.stdout
    assert "9C FE 9C FE" in done.stdout
    assert "1. " in done.stdout
    assert "2400 baud 8N1 (fs9721)" in done.stderr, "what is being tried is told meanwhile"


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["find", "--address", "COM"], "is no address"),
        (["find", "--function", "colour"], "--function colour: write one of voltage, "),
        (["find", "--coupling", "wet"], "--coupling wet: write one of dc, ac, acdc"),
        (["find", "--driver", "nobody"], "no driver 'nobody'"),
        (["watch", "/dev/ttyUSB0"], "say how to open the port"),
        (["watch", "/dev/ttyUSB0", "--line", "fast"], "is no line"),
    ],
)
def test_what_cannot_be_is_refused_in_words(
    tmp_path: Path, listed: list[NamedPort], arguments: list[str], says: str
) -> None:
    done = run(tmp_path, *arguments)
    assert isinstance(done.exception, BenchError)
    assert says in str(done.exception)


def test_one_name_is_not_given_to_two(tmp_path: Path, handheld: str, bench_meter: str) -> None:
    arguments = ["find", "--address", handheld, "--address", bench_meter, "--name", "meter"]
    done = run(tmp_path, *arguments, "--driver", "fs9721", "--driver", "scpi")
    assert isinstance(done.exception, BenchError)
    assert "2 instruments answer" in str(done.exception)


def looks(monkeypatch: pytest.MonkeyPatch, *snapshots: Sequence[NamedPort]) -> None:
    """What the system lists, one look after the other, the last one for ever."""
    waiting = list(snapshots)
    monkeypatch.setattr(unplugging, "LOOK_S", 0.01)
    monkeypatch.setattr("meterlog.bench.find.unplugging.STAYS_S", 0.02)
    monkeypatch.setattr(
        unplugging, "serial_ports", lambda: waiting.pop(0) if len(waiting) > 1 else waiting[0]
    )


def ports(*devices: str) -> list[NamedPort]:
    return name_ports([Port(device, usb=device) for device in devices])


def test_the_one_that_was_unplugged_is_looked_at(
    tmp_path: Path, handheld: str, listed: list[NamedPort], monkeypatch: pytest.MonkeyPatch
) -> None:
    listed += ports("/dev/other", handheld)
    looks(monkeypatch, ports("/dev/other", handheld), ports("/dev/other"), ports("/dev/other", handheld))
    done = run(tmp_path, "find", "--unplug", "--driver", "fs9721")
    assert done.exit_code == 0, done.output
    assert "Unplug the lead that you mean" in done.stderr
    assert "has gone. Plug it in again" in done.stderr
    assert "It is:" in done.stderr
    assert "✗" not in done.stdout, "nothing else is looked at"


@pytest.mark.parametrize(
    ("later", "says"),
    [
        ([["a"], ["a", "b"], ["a"]], "brltty"),
        ([[]], "Several ports have gone at once"),
    ],
)
def test_where_nobody_can_tell_it_is_said(
    tmp_path: Path,
    listed: list[NamedPort],
    monkeypatch: pytest.MonkeyPatch,
    later: list[list[str]],
    says: str,
) -> None:
    listed += ports("a", "b")
    monkeypatch.setattr("meterlog.bench.find.advice.sys.platform", "linux")
    looks(monkeypatch, *(ports(*devices) for devices in later))
    done = run(tmp_path, "find", "--unplug")
    assert says in str(done.exception)


def test_nobody_waits_for_ever(
    tmp_path: Path, listed: list[NamedPort], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(unplugging, "UNPLUG_S", 0.05)
    looks(monkeypatch, [])
    done = run(tmp_path, "find", "--unplug")
    assert "no lead was unplugged" in str(done.exception)


def test_bytes_and_readings_are_shown_as_they_come(tmp_path: Path, handheld: str) -> None:
    done = run(tmp_path, "watch", handheld, "--driver", "fs9721", "--coupling", "dc", "--seconds", "1.2")
    assert done.exit_code == 0, done.output
    assert re.search(r" = 1\.(49|50)", done.stdout)
    assert " « 17 2" in done.stdout


def test_without_a_driver_nothing_is_sent(tmp_path: Path) -> None:
    with Terminal() as terminal:
        threading.Timer(0.3, terminal.send, [b"hello"]).start()
        done = run(tmp_path, "watch", terminal.path, "--line", "9600 8N1", "--seconds", "0.8")
        assert terminal.heard(0.1) == b""
    assert "68 65 6C 6C 6F" in done.stdout
    assert "hello" in done.stdout


def test_what_an_instrument_says_stands_beside_its_channel_in_the_terminal() -> None:
    shown = {"channel": "output", "text": "1 V", "state": "ok", "link": "live", "low_battery": False}
    said = shown | {"remark": '-222,"Data out of range"', "remarks": 1}
    [line] = foot(Scene(live={"channels": [said, shown], "stored": {"error": ""}, "view": None}))[:1]
    assert isinstance(line, Text)
    assert line.plain == 'output: 1 V (live, says: -222,"Data out of range")   output: 1 V (live)'


@pytest.mark.slow
def test_what_the_daemon_reads_is_left_alone(tmp_path: Path) -> None:
    address = "TCPIP::127.0.0.1::9::SOCKET"
    assert address in BENCH
    with served(tmp_path):
        found = meterlog("instruments", "find", "--address", address, "--data", tmp_path / "data")
        watched = meterlog("instruments", "watch", address, "--driver", "scpi", "--data", tmp_path / "data")
    assert found.returncode == 1
    assert "the bench's own “bench meter” is on this line; it was left alone" in found.stdout
    assert watched.returncode == 2
    assert "the daemon reads “bench meter” on this line" in watched.stderr
