"""Why a serial port does not open, in words that a person can act on."""

import errno
import os
from pathlib import Path

import pytest
import serial

from meterlog.bench.wires.serial_wire import SerialWire
from meterlog.reading import Line, WireLost


def test_an_absent_port_is_named_with_those_that_exist(monkeypatch: pytest.MonkeyPatch) -> None:
    class Found:
        device = "/dev/ttyUSB7"

    monkeypatch.setattr("meterlog.bench.wires.serial_wire.list_ports.comports", lambda: [Found()])
    with pytest.raises(WireLost, match=r"/dev/absent is not there; is the adapter plugged in\? Found: /dev/"):
        SerialWire("/dev/absent", Line())


@pytest.mark.parametrize(
    ("number", "says"),
    [
        (errno.EACCES, "no permission for .*; join the group that owns it"),
        (errno.EBUSY, "in use by another program"),
        (errno.ENODEV, "is not there"),
        (errno.EIO, "cannot be opened"),
    ],
)
def test_why_a_port_does_not_open_is_said_in_words(
    monkeypatch: pytest.MonkeyPatch, number: int, says: str
) -> None:
    """The numbers are those of POSIX; raised here, since the tests may run as root."""

    def refuse(port: serial.Serial) -> None:
        raise serial.SerialException(number, os.strerror(number))

    monkeypatch.setattr(serial.Serial, "open", refuse)
    with pytest.raises(WireLost, match=says):
        SerialWire("/dev/ttyUSB0", Line())


def test_what_is_no_serial_port_is_said(tmp_path: Path) -> None:
    path = tmp_path / "file"
    path.touch()
    with pytest.raises(WireLost, match="cannot be set to 9600 baud 8N1; is it a serial port"):
        SerialWire(str(path), Line())


def test_a_line_that_no_port_can_do_is_said() -> None:
    with pytest.raises(WireLost, match="cannot work at 9600 baud 9N1"):
        SerialWire("/dev/ttyUSB0", Line(data_bits=9))
