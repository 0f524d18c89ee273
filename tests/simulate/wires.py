"""Readers for the far end of the simulated wires."""

import contextlib
import json
import os
import select
import socket
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path

PATIENCE_S = 30.0
"""Only ever used up when something is broken: a busy machine is slow, not wrong."""


@contextlib.contextmanager
def reader(path: Path) -> Iterator[int]:
    """The port, opened as a reader without line discipline of its own opens it."""
    port = os.open(path, os.O_RDONLY | os.O_NOCTTY)
    try:
        yield port
    finally:
        os.close(port)


def read(port: int, count: int) -> bytes:
    """Exactly so many bytes; raises OSError when the lead is pulled."""
    data = b""
    while len(data) < count:
        assert select.select([port], [], [], PATIENCE_S)[0], f"silent after {data.hex(' ')}"
        piece = os.read(port, count - len(data))
        if not piece:
            raise OSError("hung up")
        data += piece
    return data


def quiet(port: int, seconds: float) -> bool:
    """Whether nothing comes for so long."""
    return not select.select([port], [], [], seconds)[0]


def until(true: Callable[[], object]) -> None:
    """Wait for something that another thread or program does."""
    end_s = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < end_s, "it never happened"
        time.sleep(0.01)


class Asker:
    """One connection to the bench meter."""

    def __init__(self, address: str) -> None:
        _, host, port, _ = address.split("::")
        self._socket = socket.create_connection((host, int(port)), timeout=PATIENCE_S)
        self._lines = self._socket.makefile("rb")

    def __enter__(self) -> "Asker":
        return self

    def __exit__(self, *_: object) -> None:
        self.close()

    def say(self, message: str) -> None:
        self._socket.sendall(message.encode() + b"\n")

    def line(self) -> bytes:
        """What comes next; b"" at the end of the connection."""
        return self._lines.readline()

    def ask(self, message: str) -> str:
        self.say(message)
        return self.line().decode().rstrip("\n")

    def ended(self) -> bool:
        """Whether the far end closes or resets the connection without another word."""
        try:
            return self.line() == b""
        except ConnectionError:
            return True

    def silent_for(self, seconds: float) -> bool:
        return quiet(self._socket.fileno(), seconds)

    def close(self) -> None:
        self._lines.close()
        self._socket.close()


def http(url: str, body: object = None, headers: dict[str, str] | None = None) -> tuple[int, bytes]:
    """Status and body of a GET, or of a POST of JSON where there is a body (bytes go as they are)."""
    data = body if isinstance(body, bytes) else None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(url, data, {"Content-Type": "application/json"} | (headers or {}))
    try:
        with urllib.request.urlopen(request, timeout=PATIENCE_S) as response:
            return response.status, response.read()
    except urllib.error.HTTPError as error:
        with error:
            return error.code, error.read()
