"""A VXI-11 instrument: its core channel, so that a client may ask, be answered late or never, and clear.

ONC RPC over TCP (RFC 5531: record marks, call and reply), XDR (RFC 4506), and VXI-11 revision 1.0: procedures
and error 15 as the client of the VISA library uses them. There is no port mapper: the address has the port.
"""

import socket
import struct
import threading
import time
from contextlib import suppress

from meterlog.testing import FarEnd

CREATE_LINK, WRITE, READ, CLEAR, DESTROY_LINK = 10, 11, 12, 15, 23
TIMED_OUT, END = 15, 4
LAST_FRAGMENT = 1 << 31


class Vxi11Instrument:
    """`clears` counts device clears."""

    def __init__(self, far_end: FarEnd) -> None:
        self.clears = 0
        self._far_end = far_end
        self._listener = socket.create_server(("127.0.0.1", 0))
        self._open: list[socket.socket] = []
        self.address = f"TCPIP::127.0.0.1,{self._listener.getsockname()[1]}::inst0::INSTR"
        threading.Thread(target=self._accept, daemon=True).start()

    def __enter__(self) -> "Vxi11Instrument":
        return self

    def __exit__(self, *_: object) -> None:
        with suppress(OSError):
            self._listener.shutdown(socket.SHUT_RDWR)
        self._listener.close()
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
        answers: list[tuple[float, bytes]] = []
        with suppress(OSError), channel, channel.makefile("rb") as stream:
            while len(mark := stream.read(4)) == 4:
                call = stream.read(struct.unpack("!I", mark)[0] & ~LAST_FRAGMENT)
                xid, procedure, body = _call(call)
                reply = struct.pack("!IIIIII", xid, 1, 0, 0, 0, 0) + self._obey(procedure, body, answers)
                channel.sendall(struct.pack("!I", LAST_FRAGMENT | len(reply)) + reply)

    def _obey(self, procedure: int, body: bytes, answers: list[tuple[float, bytes]]) -> bytes:
        if procedure == CREATE_LINK:
            return struct.pack("!iiII", 0, 1, 0, 1 << 16)
        if procedure == WRITE:
            return self._write(body, answers)
        if procedure == READ:
            size, timeout_ms = struct.unpack("!II", body[4:12])
            return _read(size, timeout_ms / 1e3, answers)
        if procedure == CLEAR:
            self.clears += 1
            answers.clear()
        return struct.pack("!i", 0)

    def _write(self, body: bytes, answers: list[tuple[float, bytes]]) -> bytes:
        (length,) = struct.unpack("!I", body[16:20])
        at_s = max([time.monotonic(), *(due_s for due_s, _ in answers)])
        for after_s, data in self._far_end(body[20 : 20 + length]):
            at_s += after_s
            answers.append((at_s, data))
        return struct.pack("!iI", 0, length)


def _read(size: int, timeout_s: float, answers: list[tuple[float, bytes]]) -> bytes:
    """The next piece of an answer, with END on its last byte; error 15 where none comes in time."""
    wait_s = answers[0][0] - time.monotonic() if answers else timeout_s
    time.sleep(max(0.0, min(wait_s, timeout_s)))
    if not answers or wait_s > timeout_s:
        return struct.pack("!iiI", TIMED_OUT, 0, 0)
    due_s, data = answers.pop(0)
    if len(data) > size:
        answers.insert(0, (due_s, data[size:]))
    data, reason = data[:size], END if len(data) <= size else 0
    return struct.pack("!iiI", 0, reason, len(data)) + data + bytes(-len(data) % 4)


def _call(message: bytes) -> tuple[int, int, bytes]:
    """The number of a call, its procedure and its arguments; credentials and verifier are passed over."""
    xid, _, _, _, _, procedure = struct.unpack("!IIIIII", message[:24])
    rest = message[24:]
    for _ in range(2):
        _, length = struct.unpack("!II", rest[:8])
        rest = rest[8 + length + -length % 4 :]
    return xid, procedure, rest
