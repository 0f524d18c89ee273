"""meterlog instruments teach: a display with two digits, invented after the examples of docs/dialects.md."""

import threading
import tomllib
from collections.abc import Iterator
from functools import partial
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
FRAME = bytes.fromhex("17 25 3b 41 5f 6f 7d 83 9e a0 b0 c0 d4 e0")


@pytest.fixture
def handheld(tmp_path: Path) -> Iterator[str]:
    """A meter that shows 230.5 V dc and does not flicker."""
    model = MeterModel(DC_PLAN, lambda _: 230.6, "still")
    meter = Handheld("handheld", model, "dc", tmp_path / "port", RunningClock())
    meter.frame = lambda at_s: FRAME  # type: ignore[method-assign]
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


def meter_at(folder: Path) -> Handheld:
    model = MeterModel(DC_PLAN, lambda _: 230.6, "still")
    meter = Handheld("handheld", model, "dc", folder / "port", RunningClock())
    meter.frame = lambda at_s: FRAME  # type: ignore[method-assign]
    meter.start()
    return meter


@pytest.mark.parametrize("end", ["enter", "ctrl-c"])
def test_what_was_typed_outlasts_a_lead_that_is_pulled(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, end: str
) -> None:
    meters = [meter_at(tmp_path)]
    path = tmp_path / "mine.toml"
    asked: list[int] = []

    def typed(number: int) -> str:
        asked.append(number)
        if asked == [1, 2]:
            meters[0].close()
            threading.Timer(1.0, lambda: meters.append(meter_at(tmp_path))).start()
        if number == 3:
            if end == "ctrl-c":
                raise KeyboardInterrupt
            return ""
        return "2305 V dc auto"

    monkeypatch.setattr("meterlog.cli.instrument_teach._asked", typed)
    done = teach(tmp_path, meters[0].address, "", "--write", str(path))
    meters[-1].close()
    assert done.exit_code == 0, done.output
    assert "Plug it in again, nothing is forgotten" in done.stderr
    assert "it is back; type it again" in done.stderr
    assert (asked[:3], asked[-1]) == ([1, 2, 2], 3), (
        "the first picture is kept, the second is asked for again"
    )
    assert tomllib.loads(path.read_text())["frame"]["length"] == 14


def test_a_silent_meter_is_asked_about_again(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("meterlog.cli.instrument_teach.next_frame", partial(next_frame, wait_s=0.3))
    with Terminal() as terminal:
        done = teach(tmp_path, terminal.path, "2305 V\n\n")
    assert "no whole frame came" in done.stderr
    assert (done.exit_code, done.exception.__class__) == (1, SystemExit)


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
