"""A network cable to an instrument, which can be pulled."""

import socket
import threading
from contextlib import suppress


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
