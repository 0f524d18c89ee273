"""Plain TCP to an instrument. Every call ends in time, whatever the far end sends or does not send.

Time-outs of sockets run on the monotonic clock, so a step of the wall clock cannot stretch them.
"""

import socket
from collections.abc import Iterator
from contextlib import contextmanager, suppress

from meterlog.reading import WireLost

OPEN_S = 3.0
WRITE_S = 3.0
CHUNK_BYTES = 65536
DROP_LIMIT_BYTES = 1 << 20
"""An instrument that floods must not hold drop_input; the driver sees that bytes still come."""

KEEPALIVE = {"TCP_KEEPIDLE": 10, "TCP_KEEPINTVL": 5, "TCP_KEEPCNT": 3, "TCP_USER_TIMEOUT": 15_000}
"""A cable pulled out is noticed after 25 s without traffic, 15 s with. Not every system has all of them."""


class SocketWire:
    """See `meterlog.reading.Wire`. WireLost when it cannot be connected."""

    def __init__(self, host: str, port: int, *, open_s: float = OPEN_S, write_s: float = WRITE_S) -> None:
        self._name = f"{host} port {port}"
        self._write_s = write_s
        with self._translated():
            self._socket = socket.create_connection((host, port), timeout=open_s)
        _tune(self._socket)

    def read(self, wait_s: float) -> bytes:
        with self._translated():
            self._socket.settimeout(max(0.0, wait_s))
            try:
                data = self._socket.recv(CHUNK_BYTES)
            except (TimeoutError, BlockingIOError):
                return b""
        if not data:
            raise WireLost(f"{self._name} closed the connection; is the instrument still on?")
        return data

    def write(self, data: bytes) -> None:
        with self._translated():
            self._socket.settimeout(self._write_s)
            self._socket.sendall(data)

    def drop_input(self) -> None:
        dropped = 0
        while dropped < DROP_LIMIT_BYTES and (data := self.read(0.0)):
            dropped += len(data)

    def close(self) -> None:
        with suppress(OSError):
            self._socket.close()

    @contextmanager
    def _translated(self) -> Iterator[None]:
        """The one place where what a socket says becomes what a person can act on."""
        try:
            yield
        except OSError as error:
            raise WireLost(f"{self._name} {_words(error)}") from error


def _words(error: OSError) -> str:
    match error:
        case ConnectionRefusedError():
            return "refuses the connection; is the instrument on, its socket service enabled at this port?"
        case socket.gaierror():
            return f"is not known ({error.strerror}); look at the address"
        case TimeoutError():
            return "does not answer; is the instrument on, and the network plugged in?"
    return f"failed ({error.strerror or error}); is the instrument still on?"


def _tune(connection: socket.socket) -> None:
    connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
    connection.setsockopt(socket.SOL_SOCKET, socket.SO_KEEPALIVE, 1)
    for option, value in KEEPALIVE.items():
        if hasattr(socket, option):
            connection.setsockopt(socket.IPPROTO_TCP, getattr(socket, option), value)
