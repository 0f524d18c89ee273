"""The handheld: what its display shows, and what comes out of its port."""

import contextlib
import os
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from meterlog.simulate import fs9721_frame
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.handheld import AC_PLAN, BYTE_S, FRAME_S, Handheld, picture
from meterlog.simulate.meter import MeterModel, Shown
from tests.simulate.wires import quiet, read, reader


@pytest.mark.parametrize(
    ("value", "range_volts", "display", "milli"),
    [
        (0.1228, 0.4, "122.8", True),
        (-0.0003, 0.4, "-000.3", True),
        (0.0, 0.4, "000.0", True),
        (1.228, 4.0, "1.228", False),
        (12.34, 40.0, "12.34", False),
        (230.5, 400.0, "230.5", False),
        (None, 4.0, fs9721_frame.OVERLOAD, False),
    ],
)
def test_display(value: float | None, range_volts: float, display: str, milli: bool) -> None:
    shown = Shown(value, range_volts, range_volts / 4000, range_moved=False)
    assert picture(shown) == (display, {"auto", "volt"} | ({"milli"} if milli else set()))


def test_display_is_blank_while_the_range_changes() -> None:
    assert picture(Shown(5.0, 40.0, 0.01, range_moved=True))[0] == fs9721_frame.BLANK


class SpeakingClock:
    """Runs on by what the meter waits, so that its pace can be read from what it asked for."""

    speed = 1.0

    def __init__(self) -> None:
        self.time_s = 0.0

    def now_s(self) -> float:
        return self.time_s


class CountedWait(threading.Event):
    """Ends the meter's thread after a number of waits, all of them at once."""

    def __init__(self, clock: SpeakingClock, waits: int) -> None:
        super().__init__()
        self.asked: list[float] = []
        self._clock, self._waits = clock, waits

    def wait(self, timeout: float | None = None) -> bool:
        assert timeout is not None
        self.asked.append(timeout)
        self._clock.time_s += timeout
        return len(self.asked) >= self._waits


def test_pace_is_that_of_the_line_and_of_the_meter(tmp_path: Path) -> None:
    # 2400 baud 8N1: ten bits a byte, 14 bytes 58 ms; frames two to three times a second.
    clock = SpeakingClock()
    meter = Handheld("m", MeterModel(AC_PLAN, lambda _: 1.0, "s"), "ac", tmp_path / "m", clock)
    waits = meter._stop = CountedWait(clock, 2 + 3 * 16)
    sent: list[tuple[float, bytes]] = []
    meter._terminal.send = lambda data: sent.append((clock.time_s, data))  # type: ignore[method-assign]
    meter._run()
    assert [len(data) for _, data in sent] == [1] * len(sent)
    frames = [sent[i : i + 14] for i in range(0, len(sent), 14)][:3]
    for frame in frames:
        assert [byte[0] >> 4 for _, byte in frame] == list(range(1, 15))
        assert frame[-1][0] - frame[0][0] == pytest.approx(13 * BYTE_S)
    starts = [frame[0][0] for frame in frames]
    assert starts == pytest.approx([0.0, FRAME_S, 2 * FRAME_S])
    assert abs(14 * BYTE_S - 0.058) < 0.001
    assert waits.asked


@pytest.fixture
def meter(tmp_path: Path) -> Iterator[Handheld]:
    model = MeterModel(
        replace(AC_PLAN, gain_within=0.0, noise_counts=0.0, noise_of_value=0.0), lambda _: 1.234, "seed"
    )
    meter = Handheld("input meter", model, "ac", tmp_path / "input-meter", RunningClock())
    meter.start()
    yield meter
    meter.close()
    assert not (tmp_path / "input-meter").is_symlink()


def _whole_frame(port: int) -> bytes:
    while read(port, 1)[0] >> 4 != 14:
        pass
    return read(port, 14)


@pytest.mark.wire
def test_frames_on_the_port(meter: Handheld) -> None:
    with reader(Path(meter.address)) as port:
        assert _whole_frame(port) == fs9721_frame.encode("1.234", {"ac", "auto", "volt"})


@pytest.mark.wire
def test_faults_on_the_port(meter: Handheld) -> None:
    with reader(Path(meter.address)) as port:
        _whole_frame(port)
        meter.faults = replace(meter.faults, silent=True)
        time.sleep(2 * FRAME_S)  # the frame under way may still end
        with contextlib.suppress(BlockingIOError):
            os.set_blocking(port, False)
            os.read(port, 4096)
        assert quiet(port, 3 * FRAME_S)
        meter.faults = replace(meter.faults, silent=False, noise_bytes=5)
        assert len(read(port, 5 + 14)) == 19
        meter.faults = replace(meter.faults, noise_bytes=0)
        assert fs9721_frame.encode("1.234", {"ac", "auto", "volt"}) in read(port, 60)


@pytest.mark.wire
def test_pulled_and_plugged(meter: Handheld) -> None:
    with reader(Path(meter.address)) as port:
        _whole_frame(port)
        meter.unplug()
        with pytest.raises(OSError):  # noqa: PT011 - which one is the system's choice
            read(port, 64)
    assert not meter.plugged
    meter.plug()
    with reader(Path(meter.address)) as port:
        assert _whole_frame(port)
