"""An instrument on a loopback TCP port that misbehaves as told."""

import socket
import struct
import threading
from collections.abc import Callable
from contextlib import suppress

from meterlog.testing.wire import Chunks, FarEnd


class Instrument:
    """A thread for each connection; each line is answered with the chunks that `far_end` gives for it.

    greet: what is sent without being asked as soon as someone connects.
    """

    def __init__(self, far_end: FarEnd = lambda line: (), greet: Callable[[], Chunks] = lambda: ()) -> None:
        self.far_end = far_end
        self._greet = greet
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.port: int = self._listener.getsockname()[1]
        self._open: list[socket.socket] = []
        self._gone = threading.Event()
        threading.Thread(target=self._accept, daemon=True).start()

    def __enter__(self) -> "Instrument":
        return self

    def __exit__(self, *_: object) -> None:
        self._gone.set()
        with suppress(OSError):
            self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        self.hang_up()

    @property
    def address(self) -> str:
        return f"TCPIP::127.0.0.1::{self.port}::SOCKET"

    def hang_up(self, *, reset: bool = False) -> None:
        """End every connection, politely or by a reset."""
        while self._open:
            connection = self._open.pop()
            with suppress(OSError):
                if reset:
                    connection.setsockopt(socket.SOL_SOCKET, socket.SO_LINGER, struct.pack("ii", 1, 0))
                # A thread that waits on it would keep it open until woken.
                connection.shutdown(socket.SHUT_RD if reset else socket.SHUT_RDWR)
            connection.close()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                connection, _ = self._listener.accept()
                connection.setsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY, 1)
                self._open.append(connection)
                threading.Thread(target=self._greeting, args=(connection,), daemon=True).start()
                threading.Thread(target=self._serve, args=(connection,), daemon=True).start()

    def _greeting(self, connection: socket.socket) -> None:
        with suppress(OSError):
            self._say(connection, self._greet())

    def _serve(self, connection: socket.socket) -> None:
        rest = b""
        with suppress(OSError):
            while data := connection.recv(4096):
                *lines, rest = (rest + data).split(b"\n")
                for line in lines:
                    self._say(connection, self.far_end(line + b"\n"))
        connection.close()
        with suppress(ValueError):
            self._open.remove(connection)

    def _say(self, connection: socket.socket, chunks: Chunks) -> None:
        for after_s, data in chunks:
            if self._gone.wait(after_s):
                return
            connection.sendall(data)
