"""A serial port. The only module that opens ports through pyserial (`bench/find/listing.py` lists them).

Two locks, because neither is enough: flock keeps out programs that ask for it, TIOCEXCL those that do
not (except root's). The port's own read time-outs are not used: poll tells when a byte has come, then
everything that has come is taken at once. A port that is ready and gives no byte has gone.
"""

import errno
import fcntl
import os
import select
import termios
from contextlib import suppress
from pathlib import Path

import serial
from serial.tools import list_ports

from meterlog.reading import Line, WireLost

WRITE_S = 3.0
CHUNK_BYTES = 4096
"""As much as Linux keeps for a reader that is late (N_TTY_BUF_SIZE)."""
DROP_LIMIT_BYTES = 1 << 20
FAULTS = (OSError, termios.error, ValueError, TypeError)
"""All that pyserial lets through when a port fails: its own SerialException is an OSError, termios.error is
none, and a port that vanished has given ValueError (from ctypes) and TypeError (no descriptor)."""


class SerialWire:
    """See `meterlog.reading.Wire`. WireLost when the port cannot be opened, and why."""

    def __init__(self, path: str, line: Line, *, write_s: float = WRITE_S) -> None:
        self._path = path
        self._port = _unopened(path, line, write_s)
        try:
            self._port.open()
            fcntl.ioctl(self._port.fileno(), termios.TIOCEXCL)
        except FAULTS as fault:
            self.close()
            raise WireLost(_why_not(path, line, fault)) from fault
        self._poll = select.poll()
        self._poll.register(self._port.fileno(), select.POLLIN)

    def read(self, wait_s: float) -> bytes:
        """Past pyserial, whose read asks the system several times: this is done for every few bytes."""
        try:
            if not self._poll.poll(max(0.0, wait_s) * 1000.0):
                return b""
            data = os.read(self._port.fileno(), CHUNK_BYTES)
        except BlockingIOError:  # root's programs may take from it all the same
            return b""
        except FAULTS as fault:
            raise self._failed(fault) from fault
        if not data:
            raise self._failed("it is ready but gives no byte")
        return data

    def write(self, data: bytes) -> None:
        try:
            self._port.write(data)
        except serial.SerialTimeoutException as fault:
            raise WireLost(f"{self._path} takes no more bytes; is the adapter stuck? Replug it") from fault
        except FAULTS as fault:
            raise self._failed(fault) from fault

    def drop_input(self) -> None:
        dropped = 0
        while dropped < DROP_LIMIT_BYTES and (data := self.read(0.0)):
            dropped += len(data)

    def close(self) -> None:
        with suppress(*FAULTS):
            fcntl.ioctl(self._port.fileno(), termios.TIOCNXCL)
        with suppress(*FAULTS):
            self._port.close()

    def _failed(self, how: object) -> WireLost:
        return WireLost(f"{self._path} failed, unplugged? ({how})")


def _unopened(path: str, line: Line, write_s: float) -> serial.Serial:
    """DTR and RTS are set before the port opens: an optical lead lives on them, a board may reset by them."""
    port = serial.Serial()
    try:
        port.port = path
        port.baudrate = line.baud
        port.bytesize = line.data_bits
        port.parity = line.parity
        port.stopbits = line.stop_bits
    except ValueError as fault:
        raise WireLost(f"{path} cannot work at {line}: {fault}") from fault
    port.timeout = 0
    port.write_timeout = write_s
    port.exclusive = True
    port.rtscts = line.flow == "rts/cts"
    if line.dtr is not None:
        port.dtr = line.dtr
    if line.rts is not None:
        port.rts = line.rts
    return port


def _why_not(path: str, line: Line, fault: Exception) -> str:
    number = fault.errno if isinstance(fault, OSError) else None
    if number in (errno.ENOENT, errno.ENODEV, errno.ENXIO):
        return f"{path} is not there; is the adapter plugged in? {_ports_found()}"
    if number in (errno.EBUSY, errno.EAGAIN):
        return f"{path} is in use by another program; end that first (or a modem or Braille service)"
    if number in (errno.EACCES, errno.EPERM):
        return f"no permission for {path}; join the group that owns it (often dialout) and log in anew"
    if number in (errno.EINVAL, None):
        return f"{path} cannot be set to {line}; is it a serial port? ({fault})"
    return f"{path} cannot be opened: {fault}"


def _ports_found() -> str:
    """The names that stay the same over replugging first."""
    lasting = sorted(str(path) for path in Path("/dev/serial/by-id").glob("*"))
    found = lasting or sorted(port.device for port in list_ports.comports())
    return f"Found: {', '.join(found)}" if found else "No serial port was found"
