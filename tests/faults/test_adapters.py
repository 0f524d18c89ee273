"""Adapters that are taken, sleep or cannot do a framing; what other systems say. Letters tell faults apart.

Sources: reports in public trackers, named by number; texts of exceptions as reported from Windows and macOS,
where none of this was tried.
"""

import errno
import os
import termios
import threading
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest
import serial

from meterlog.bench import LinkState
from meterlog.bench.wires import serial_wire
from meterlog.bench.wires.serial_wire import SerialWire
from meterlog.reading import Line, WireLost
from meterlog.testing import HURRIED, PATIENCE_S, Terminal, Witness
from meterlog_drivers.handheld import es51922, fs9721
from tests.bench.kit import link_to

FRAME = bytes.fromhex("1720354D5B617F8297A0B0C0D4E0")
"""1.234 V DC: row fs9721-01 of tests/drivers/vectors/fs9721.csv."""
LINE_7O1 = b"107393;000:0\r\n"
"""7.393 V: row es51922-pub-1 of tests/drivers/vectors/es51922.csv."""


@pytest.mark.wire
def test_a9_a_port_that_vanishes_half_a_second_after_it_came_is_found_again(tmp_path: Path) -> None:
    """pop-os/beta#421: a service for Braille displays takes the adapter away; it comes back without it."""
    witness = Witness()
    with Terminal(tmp_path / "adapter") as terminal:
        link = link_to(terminal.path, fs9721.driver, witness)
        link.start()
        threading.Timer(0.5, terminal.unplug).start()
        lost = witness.wait_for_state(LinkState.LOST)
        assert "unplugged?" in lost.text
        terminal.plug()
        with terminal.talking(FRAME):
            witness.wait_for_readings(2)
        assert link.stop(PATIENCE_S)


@pytest.mark.wire
def test_a12_a_handle_that_lives_but_gives_nothing_any_more_is_opened_anew_by_its_name(
    tmp_path: Path,
) -> None:
    """After a suspend (node-serialport#157): the old handle stays silent, the name leads to a new port."""
    witness = Witness()
    pace = replace(HURRIED, reopen_silent_s=0.5)
    with Terminal(tmp_path / "adapter") as before, Terminal() as after:
        link = link_to(before.path, fs9721.driver, witness, pace=pace)
        link.start()
        with before.talking(FRAME):
            witness.wait_for_readings(2)
        name = Path(before.path)
        name.unlink()
        name.symlink_to(after.path)
        seen = len(witness.statuses)
        lost = witness.wait_for_state(LinkState.LOST, since=seen)
        assert "silent for 0.5 s" in lost.text
        with after.talking(FRAME):
            witness.wait_for_readings(2)
        assert link.stop(PATIENCE_S)


def _parity(data: bytes) -> bytes:
    return bytes(byte if byte.bit_count() % 2 else byte | 0x80 for byte in data)


@pytest.mark.wire
def test_a11_odd_parity_is_checked_in_the_eighth_bit(tmp_path: Path) -> None:
    """pyserial#357: a port set to 7O1 hands over bytes of wrong parity unsaid, so it is opened as 8N1."""
    assert str(es51922.driver.line) == "19200 baud 8N1"
    good, bad = _parity(LINE_7O1), bytearray(_parity(LINE_7O1))
    bad[4] ^= 0x01  # another digit, and the parity gives it away
    witness = Witness()
    with Terminal(tmp_path / "adapter") as terminal:
        link = link_to(terminal.path, es51922.driver, witness)
        link.start()
        with terminal.talking(good + bytes(bad)):
            witness.wait_for_readings(4)
        assert link.stop(PATIENCE_S)
    assert {reading.value for reading in witness.readings} == {7.393}


def test_a11_a_framing_that_the_adapter_cannot_do_is_said(monkeypatch: pytest.MonkeyPatch) -> None:
    """pyserial#196, #535: termios.error, which is no OSError."""

    def refuse(port: serial.Serial) -> None:
        raise termios.error(22, "Invalid argument")

    monkeypatch.setattr(serial.Serial, "open", refuse)
    with pytest.raises(WireLost, match="cannot be set to 9600 baud 7O1"):
        SerialWire("/dev/ttyUSB0", Line(data_bits=7, parity="O"))


WINDOWS = (
    "GetOverlappedResult failed (PermissionError(13, 'Access is denied.', None, 5))",
    "WriteFile failed (PermissionError(13, 'The device does not recognize the command.', None, 22))",
)
MACOS = "write failed: [Errno 6] Device not configured"


@pytest.mark.wire
@pytest.mark.parametrize("text", [*WINDOWS, MACOS])
def test_a14_what_other_systems_say_of_an_unplugged_adapter_is_a_lost_wire(
    monkeypatch: pytest.MonkeyPatch, text: str
) -> None:
    """pyserial#446. Only the texts: meterlog's serial wire itself needs a POSIX system."""

    def fail(*_: object) -> None:
        raise serial.SerialException(text)

    with Terminal() as terminal:
        wire = SerialWire(terminal.path, Line())
        monkeypatch.setattr(serial.Serial, "write", fail)
        with pytest.raises(WireLost, match="unplugged"):
            wire.write(b"?\n")
        wire.close()


@pytest.mark.wire
@pytest.mark.parametrize("number", [errno.EIO, errno.ENXIO, errno.ENODEV])
@pytest.mark.parametrize(
    "use", [lambda wire: wire.read(0.2), lambda wire: wire.drop_input()], ids=["read", "drop_input"]
)
def test_a14_what_reading_an_unplugged_adapter_gives_on_posix_is_a_lost_wire(
    monkeypatch: pytest.MonkeyPatch, number: int, use: Callable[[SerialWire], object]
) -> None:
    """ENXIO is what macOS says (pyserial#446), EIO and ENODEV are Linux's."""

    def fail(descriptor: int, most: int) -> bytes:
        raise OSError(number, os.strerror(number))

    with Terminal() as terminal:
        wire = SerialWire(terminal.path, Line())
        terminal.send(b"x")
        monkeypatch.setattr(serial_wire, "os", SimpleNamespace(read=fail))
        with pytest.raises(WireLost, match="unplugged"):
            use(wire)
        wire.close()


@pytest.mark.wire
def test_b13_nothing_is_listed_to_open_a_port_that_is_there(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lists take a second, may hang, and hold up openings elsewhere (pyserial#309)."""

    def fail() -> None:
        raise AssertionError("ports were listed")

    monkeypatch.setattr("serial.tools.list_ports.comports", fail)
    with Terminal() as terminal:
        SerialWire(terminal.path, Line()).close()
