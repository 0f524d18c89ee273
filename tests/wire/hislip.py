"""A HiSLIP server: enough of IVI-6.1 for one client to ask, be answered late or never, and clear.

Numbers of the messages: IVI-6.1, table 4, as the client of the VISA library uses them.
"""

import socket
import struct
import threading
from contextlib import suppress

from meterlog.testing import FarEnd

HEADER = struct.Struct("!2sBBIQ")
INITIALIZE, DATA, DATA_END, CLEAR_COMPLETE, MAX_SIZE, ASYNC_INITIALIZE, ASYNC_CLEAR = 0, 6, 7, 8, 15, 17, 19
ANSWER_TO = {INITIALIZE: 1, CLEAR_COMPLETE: 9, MAX_SIZE: 16, ASYNC_INITIALIZE: 18, ASYNC_CLEAR: 23}
VERSION_AND_SESSION = (1 << 24) | 1
"""Version 1.0, session 1, as the parameter of the first answer."""


class HislipInstrument:
    """Both channels of every client are served alike; `clears` counts device clears."""

    def __init__(self, far_end: FarEnd) -> None:
        self.clears = 0
        self._far_end = far_end
        self._gone = threading.Event()
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._open: list[socket.socket] = []
        self.address = f"TCPIP::127.0.0.1::hislip0,{self._listener.getsockname()[1]}::INSTR"
        threading.Thread(target=self._accept, daemon=True).start()

    def __enter__(self) -> "HislipInstrument":
        return self

    def __exit__(self, *_: object) -> None:
        self._gone.set()
        with suppress(OSError):
            self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
        self.hang_up()

    def hang_up(self) -> None:
        while self._open:
            with suppress(OSError):
                self._open.pop().shutdown(socket.SHUT_RDWR)

    def _accept(self) -> None:
        with suppress(OSError):
            while True:
                channel, _ = self._listener.accept()
                self._open.append(channel)
                threading.Thread(target=self._serve, args=(channel,), daemon=True).start()

    def _serve(self, channel: socket.socket) -> None:
        with suppress(OSError), channel, channel.makefile("rb") as stream:
            while len(head := stream.read(HEADER.size)) == HEADER.size:
                _, kind, _, parameter, size = HEADER.unpack(head)
                self._handle(channel, kind, parameter, stream.read(size))

    def _handle(self, channel: socket.socket, kind: int, parameter: int, payload: bytes) -> None:
        if kind == DATA_END:
            for after_s, data in self._far_end(payload):
                if not self._gone.wait(after_s):
                    _send(channel, DATA_END, parameter, data)
            return
        self.clears += kind == ASYNC_CLEAR
        parameter = VERSION_AND_SESSION if kind == INITIALIZE else 0
        _send(channel, ANSWER_TO[kind], parameter, struct.pack("!Q", 1 << 20) if kind == MAX_SIZE else b"")


def _send(channel: socket.socket, kind: int, parameter: int, payload: bytes) -> None:
    channel.sendall(HEADER.pack(b"HS", kind, 0, parameter, len(payload)) + payload)
