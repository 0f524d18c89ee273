"""Every format of hand-held meters on a pseudo-terminal at the true pace of its line, through a link.

The meter's end sends the frames of the vector files (their heads name the sources), byte by byte as fast as
the line would, or answers one question with each.
"""

import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from meterlog.bench import Channel, Link, Pace, SystemClock
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Line, Reading, State
from meterlog.testing import PATIENCE_S, Terminal, Witness
from tests.bench.kit import channel, entry, link_to
from tests.drivers.handheld.kinds import DRIVERS, FORMATS, FRAMES, frame, with_parity

pytestmark = pytest.mark.wire

BITS_A_BYTE = 10
"""Start bit, eight bits (or seven and parity, or seven and a stop bit), stop bit."""
SHOWING = ("reading", "overload", "no_value")


def shown_rows(name: str) -> list[dict[str, str]]:
    """What must come out; not commands and acknowledgements, nor the display that no channel asks for."""
    rows = [row for row in FRAMES[name] if row["expect"] in SHOWING and "lower" not in row["flags"]]
    return [row for row in rows if not row["id"].startswith("abcd-pub")]


def on_the_line(name: str, data: bytes) -> bytes:
    """As a port that was opened 8N1 delivers it."""
    if name.startswith("es519"):
        return with_parity(data)
    return bytes(byte | 0x80 for byte in data) if name in ("ascii14", "bin11") else data


class Meter:
    """A meter's end of the line. `done` once every frame has been sent."""

    def __init__(self, name: str, terminal: Terminal, line: Line) -> None:
        self._terminal = terminal
        self._byte_s = BITS_A_BYTE / line.baud
        self._frames = [on_the_line(name, bytes.fromhex(row["hex"])) for row in shown_rows(name)]
        self._stop = threading.Event()

    def talk(self) -> None:
        """All frames without a gap: harder than any meter's own pause between them."""
        self._send(b"".join(self._frames))

    def answer(self, question: bytes) -> None:
        """One frame for each question; the first goes to a driver that only puts itself in step."""
        for answer in [self._frames[0], *self._frames]:
            heard = b""
            while question not in heard:
                if self._stop.is_set():
                    return
                heard += self._terminal.heard(0.1)
            self._send(answer)

    def stop(self) -> None:
        self._stop.set()

    def _send(self, data: bytes) -> None:
        """Each byte no earlier than the line could have brought it."""
        began_s = time.monotonic()
        for number, byte in enumerate(data, start=1):
            if self._stop.wait(max(0.0, began_s + number * self._byte_s - time.monotonic())):
                return
            self._terminal.send(bytes([byte]))


@contextmanager
def linked(name: str, path: Path) -> Iterator[Witness]:
    """A witness to a link whose meter begins once the port is open, and talks until it is through."""
    witness, driver = Witness(), DRIVERS[name]
    with Terminal(path / "adapter") as terminal:
        meter = Meter(name, terminal, driver.line)
        link = link_to(terminal.path, driver, witness, pace=Pace())
        question = FORMATS[name].question
        work = (
            threading.Thread(target=meter.answer, args=(question,))
            if question
            else threading.Thread(target=meter.talk)
        )
        link.start()
        while not link.status.opened:
            time.sleep(0.005)
        work.start()
        try:
            yield witness
        finally:
            meter.stop()
            work.join()
            terminal.unplug()  # else a meter that is asked would be waited for
            assert link.stop(PATIENCE_S)


@pytest.mark.parametrize("name", FORMATS)
def test_every_reading_arrives_at_the_true_pace(name: str, tmp_path: Path) -> None:
    rows = shown_rows(name)
    with linked(name, tmp_path) as witness:
        witness.wait_for(lambda: len(witness.readings) >= len(rows))
    assert [one.raw for one in witness.readings] == [bytes.fromhex(row["hex"]) for row in rows]
    for row, reading in zip(rows, witness.readings, strict=True):
        _check(row, reading)


def _check(row: dict[str, str], reading: Reading) -> None:
    """A channel of volts DC keeps volts DC; what contradicts it is no value."""
    if row["expect"] == "overload" and row["unit"] == "V" and row["coupling"] == "dc":
        assert reading.state is State.OVERLOAD
    if row["expect"] != "reading":
        assert reading.value is None
    elif (row["function"], row["coupling"]) == ("voltage", "dc"):
        assert reading.value == float(row["value"])
        assert (reading.state, reading.coupling) == (State.OK, Coupling.DC)
    elif row["unit"] != "V" or row["coupling"] == "ac":
        assert (reading.state, reading.value) == (State.INVALID, None)


def test_a_channel_for_each_display(tmp_path: Path) -> None:
    """Rows x16-01, upper display 1.234 V, and x16-15, lower display 23.5 degrees Celsius."""
    witness = Witness()
    lower = Channel(name="lower", meter="meter", function="temperature", display=2)
    with Terminal(tmp_path / "adapter") as terminal:
        link = Link(
            entry(terminal.path, "stx16"),
            [channel(), lower],
            DRIVERS["stx16"],
            SystemClock(),
            deliver=witness.deliver,
            on_state=witness.on_state,
        )
        link.start()
        with terminal.talking(frame("x16-01") + frame("x16-15")):
            witness.wait_for(lambda: len(witness.readings) >= 6)
        assert link.stop(PATIENCE_S)
    shown = {(one.channel, one.value, one.unit) for one in witness.readings}
    assert shown == {("panel", 1.234, Unit.VOLT), ("lower", 23.5, Unit.CELSIUS)}
