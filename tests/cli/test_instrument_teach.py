"""meterlog instruments teach: a display with two digits, invented after the examples of docs/dialects.md."""

import threading
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest
from click.testing import Result
from typer.testing import CliRunner

from meterlog.bench import BenchError
from meterlog.bench.find import next_frame
from meterlog.cli.main import app
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.handheld import DC_PLAN, Handheld
from meterlog.simulate.meter import MeterModel
from meterlog.testing import FakeWire, Terminal

pytestmark = pytest.mark.wire


@pytest.fixture
def handheld(tmp_path: Path) -> Iterator[str]:
    """A meter that shows 230.5 V dc and does not flicker."""
    model = MeterModel(DC_PLAN, lambda _: 230.6, "still")
    meter = Handheld("handheld", model, "dc", tmp_path / "port", RunningClock())
    meter.frame = lambda at_s: bytes.fromhex("17 25 3b 41 5f 6f 7d 83 9e a0 b0 c0 d4 e0")  # type: ignore[method-assign]
    meter.start()
    yield meter.address
    meter.close()


def teach(tmp_path: Path, address: str, typed: str, *more: str) -> Result:
    arguments = ["instruments", "teach", address, "--data", str(tmp_path / "data"), *more]
    return CliRunner().invoke(app, arguments, input=typed)


def test_pictures_become_the_beginning_of_a_description(tmp_path: Path, handheld: str) -> None:
    path = tmp_path / "mine.toml"
    done = teach(tmp_path, handheld, "2305 V dc auto\n23x5 V\n2305 V dc auto\n\n", "--write", str(path))
    assert done.exit_code == 0, done.output
    assert "17 25 3B 41 5F 6F 7D 83 9E A0 B0 C0 D4 E0" in done.stdout
    assert "elements found" in done.stdout
    assert "show something in which they differ" in done.stdout
    assert "left out" in done.stderr
    assert tomllib.loads(path.read_text())["frame"]["length"] == 14

    again = teach(tmp_path, handheld, "", "--write", str(path))
    assert "is there already" in str(again.exception)


def test_nothing_shown_is_an_answer_of_no(tmp_path: Path, handheld: str) -> None:
    assert teach(tmp_path, handheld, "\n").exit_code == 1


def test_a_frame_is_what_comes_between_two_pauses() -> None:
    with Terminal() as terminal:
        from meterlog.bench import SystemClock, open_wire
        from meterlog.reading import Line

        wire = open_wire(terminal.path, Line(2400))
        terminal.send(b"tail")
        threading.Timer(0.3, terminal.send, [b"frame"]).start()
        assert next_frame(wire, SystemClock()) == b"frame"
        wire.close()


def test_silence_is_said() -> None:
    wire = _Waiting()
    with pytest.raises(BenchError, match="no whole frame came within 6 s"):
        next_frame(wire, wire.clock)


class _Waiting(FakeWire):
    def read(self, wait_s: float) -> bytes:
        self.clock.pass_s(wait_s)
        return b""
