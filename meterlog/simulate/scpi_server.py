"""A SCPI instrument's socket: a line in, a line out, for one connection after another or several at once."""

import contextlib
import random
import socket
import threading
from collections.abc import Callable

from meterlog.simulate.faults import Faults
from meterlog.simulate.scpi_instrument import ScpiInstrument
from meterlog.simulate.scpi_meter import Stopped, Wait

HOST = "127.0.0.1"
LINE_LIMIT = 4096


class ScpiServer:
    """See `Port`. `make` gets the wait that unplug() cuts short."""

    def __init__(self, name: str, make: Callable[[Wait], ScpiInstrument], port: int = 0) -> None:
        self.name = name
        self.faults = Faults()
        self.port = port
        self._unplugged = threading.Event()
        self._instrument = make(self._pause)
        self._one_at_a_time = threading.Lock()
        self._lock = threading.Lock()
        self._listener: socket.socket | None = None
        self._connections: set[socket.socket] = set()
        self._random = random.Random(name)  # noqa: S311 - noise that must repeat, not a secret

    @property
    def plugged(self) -> bool:
        return self._listener is not None

    @property
    def address(self) -> str:
        return f"TCPIP::{HOST}::{self.port}::SOCKET"

    def plug(self) -> None:
        """Listen, on the same port as before; raises OSError when another program has it."""
        with self._lock:
            if self._listener is not None:
                return
            self._listener = socket.create_server((HOST, self.port), reuse_port=False)
            self.port = self._listener.getsockname()[1]
            self._unplugged.clear()
            threading.Thread(target=self._accept, args=(self._listener,), name=self.name, daemon=True).start()

    start = plug

    def unplug(self) -> None:
        """Refuse new connections and end the open ones."""
        with self._lock:
            self._unplugged.set()
            listener, self._listener = self._listener, None
            if listener is not None:
                _shut(listener)
            for connection in self._connections:
                _shut(connection)

    close = unplug

    def _pause(self, seconds: float) -> bool:
        return self._unplugged.wait(seconds)

    def _accept(self, listener: socket.socket) -> None:
        while True:
            try:
                connection, _ = listener.accept()
            except OSError:
                return
            with self._lock:
                if listener is not self._listener:
                    connection.close()
                    return
                self._connections.add(connection)
            threading.Thread(target=self._serve, args=(connection,), name=self.name, daemon=True).start()

    def _serve(self, connection: socket.socket) -> None:
        with contextlib.suppress(OSError, Stopped), connection, connection.makefile("rb") as lines:
            connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
            while line := lines.readline(LINE_LIMIT):
                self._reply(connection, line.decode("ascii", "replace").strip())
        with self._lock:
            self._connections.discard(connection)

    def _reply(self, connection: socket.socket, message: str) -> None:
        faults = self.faults  # as they are when the question comes
        with self._one_at_a_time:
            answer = self._instrument.answer(message)
        if answer is None or faults.silent or self._pause(faults.late_s):
            return
        connection.sendall(
            self._random.randbytes(faults.noise_bytes) + answer.encode("ascii", "replace") + b"\n"
        )


def _shut(endpoint: socket.socket) -> None:
    """Wake whoever waits on it, then close."""
    with contextlib.suppress(OSError):
        endpoint.shutdown(socket.SHUT_RDWR)
    endpoint.close()
