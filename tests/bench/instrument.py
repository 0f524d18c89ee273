"""An instrument on a loopback TCP port that misbehaves as told, and a cable to it that can be pulled."""

import socket
import struct
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import suppress

Chunks = Sequence[tuple[float, bytes]]
"""Seconds to wait, then bytes to send."""
FarEnd = Callable[[bytes], Chunks]


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


class Cable:
    """Between a reader and an instrument. Pulled, all waits in it and nobody is told; plugged, it flows.

    That is how a network cable fails: both ends stay up, and what was sent is sent again when it is back.
    """

    def __init__(self, port: int) -> None:
        self._far_port = port
        self._listener = socket.create_server(("127.0.0.1", 0))
        self.address = f"TCPIP::127.0.0.1::{self._listener.getsockname()[1]}::SOCKET"
        self._whole = threading.Event()
        self._whole.set()
        threading.Thread(target=self._accept, daemon=True).start()

    def __enter__(self) -> "Cable":
        return self

    def __exit__(self, *_: object) -> None:
        with suppress(OSError):
            self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        self._whole.set()

    def pull(self) -> None:
        self._whole.clear()

    def plug(self) -> None:
        self._whole.set()

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                near, _ = self._listener.accept()
                far = socket.create_connection(("127.0.0.1", self._far_port))
                for source, sink in ((near, far), (far, near)):
                    threading.Thread(target=self._carry, args=(source, sink), daemon=True).start()

    def _carry(self, source: socket.socket, sink: socket.socket) -> None:
        with suppress(OSError):
            while data := source.recv(4096):
                self._whole.wait()
                sink.sendall(data)
        self._whole.wait()
        with suppress(OSError):
            sink.shutdown(socket.SHUT_WR)
        source.close()


class Asked:
    """READ? answered by 1, 2, 3, ...: a value tells which question it answers, and when that one came.

    answer: the chunks for the n-th question, given its number and its usual answer.
    """

    def __init__(
        self, answer: Callable[[int, bytes], Chunks] = lambda number, usual: [(0.01, usual)]
    ) -> None:
        self.came_ns: list[int] = []
        self.answer = answer

    def __call__(self) -> Chunks:
        self.came_ns.append(time.monotonic_ns())
        number = len(self.came_ns)
        return self.answer(number, f"{number:+.8E}\n".encode("ascii"))

    def was_asked(self, value: float | None, at_ns: int) -> bool:
        """Whether the question that `value` answers was sent at at_ns: after the one before it had come."""
        if value is None or value != int(value) or not 1 <= value <= len(self.came_ns):
            return False
        number = int(value)
        return at_ns <= self.came_ns[number - 1] and (number == 1 or at_ns > self.came_ns[number - 2])
