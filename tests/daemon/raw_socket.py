"""WebSocket by hand over a socket, for what no well-behaved client would do."""

import base64
import hashlib
import os
import socket
import struct

# RFC 6455 section 1.3
KEY, ACCEPT = "dGhlIHNhbXBsZSBub25jZQ==", "s3pPLMBiTxaQ9kYGzzhZRbK+xOo="
_GUID = "258EAFA5-E914-47DA-95CA-C5AB0DC85B11"
TEXT, CLOSE = 1, 8


def accept_of(key: str) -> str:
    return base64.b64encode(hashlib.sha1((key + _GUID).encode()).digest()).decode()


class RawPage:
    """One connection. `handshake` returns the status line and headers as the server sent them."""

    def __init__(self, port: int, receive_bytes: int = 0) -> None:
        self._socket = socket.socket()
        if receive_bytes:
            self._socket.setsockopt(socket.SOL_SOCKET, socket.SO_RCVBUF, receive_bytes)
        self._socket.settimeout(60)
        try:
            self._socket.connect(("127.0.0.1", port))
        except OSError:
            self._socket.close()
            raise

    def __enter__(self) -> "RawPage":
        return self

    def __exit__(self, *_: object) -> None:
        self._socket.close()

    def handshake(self, **headers: str) -> str:
        lines = {
            "Upgrade": "websocket",
            "Connection": "Upgrade",
            "Sec-WebSocket-Key": KEY,
            "Sec-WebSocket-Version": "13",
        } | headers
        text = "".join(f"{name}: {value}\r\n" for name, value in lines.items())
        self._socket.sendall(f"GET /api/live HTTP/1.1\r\n{text}\r\n".encode())
        answer = b""
        while b"\r\n\r\n" not in answer:
            more = self._socket.recv(1)
            if not more:
                break
            answer += more
        return answer.decode()

    def send_frame(self, payload: bytes, opcode: int = TEXT) -> None:
        """Masked, as a client must (RFC 6455 section 5.3)."""
        self._socket.sendall(self.frame(payload, opcode))

    @staticmethod
    def frame(payload: bytes, opcode: int = TEXT) -> bytes:
        mask = os.urandom(4)
        size = len(payload)
        if size < 126:
            head = struct.pack("!BB", 0x80 | opcode, 0x80 | size)
        elif size < 2**16:
            head = struct.pack("!BBH", 0x80 | opcode, 0x80 | 126, size)
        else:
            head = struct.pack("!BBQ", 0x80 | opcode, 0x80 | 127, size)
        masked = bytes(byte ^ mask[index % 4] for index, byte in enumerate(payload))
        return head + mask + masked

    def send_raw(self, data: bytes) -> None:
        self._socket.sendall(data)

    def read_frame(self) -> tuple[int, bytes]:
        """(opcode, payload). EOFError: the server has closed the line."""
        first, second = self._exactly(2)
        size = second & 0x7F
        if size == 126:
            (size,) = struct.unpack("!H", self._exactly(2))
        elif size == 127:
            (size,) = struct.unpack("!Q", self._exactly(8))
        return first & 0x0F, self._exactly(size)

    def read_to_close(self) -> int:
        """The code of the server's close frame."""
        while True:
            opcode, payload = self.read_frame()
            if opcode == CLOSE:
                return int.from_bytes(payload[:2])

    def _exactly(self, count: int) -> bytes:
        got = b""
        while len(got) < count:
            more = self._socket.recv(count - len(got))
            if not more:
                raise EOFError
            got += more
        return got
