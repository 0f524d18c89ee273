"""A sound device that exists only in the test: its wire, and a stand-in for the library below it."""

import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any

import numpy as np

from meterlog.reading.pcm import Block, Blocks, Kind
from meterlog.testing import FakeClock

RATE_HZ = 48_000
NAME = "a sound device, channel 1"


def tone(frequency_hz: float, peak: float, seconds: float, phase: float = 0.0) -> bytes:
    turns = np.arange(round(seconds * RATE_HZ)) * frequency_hz / RATE_HZ
    return (peak * np.sin(2.0 * math.pi * turns + phase)).astype(np.float32).tobytes()


def about(rate_hz: int = RATE_HZ) -> bytes:
    return Block(Kind.TEXT, NAME.encode(), rate_hz).packed()


def in_blocks(samples: bytes, size: int = 2400, first: int = 0) -> list[Block]:
    pieces = range(0, len(samples) // 4, size)
    return [Block(Kind.SAMPLES, samples[4 * at : 4 * (at + size)], RATE_HZ, first + at) for at in pieces]


def packed(blocks: Iterable[Block]) -> bytes:
    return b"".join(block.packed() for block in blocks)


class FakeDevice:
    """A wire: gives `data` in pieces, each after 50 ms; plays what it is written."""

    def __init__(self, clock: FakeClock, *pieces: bytes) -> None:
        self.clock = clock
        self.pieces = [about(), *pieces]
        self.played: list[Block] = []
        self.stuck = False

    def read(self, wait_s: float) -> bytes:
        if not self.pieces:
            self.clock.pass_s(wait_s)
            return b""
        self.clock.pass_s(0.05)
        return self.pieces.pop(0)

    def write(self, data: bytes) -> None:
        self.played += Blocks().feed(data)
        if not self.stuck:
            self.pieces.append(self.played[-1].packed())

    def drop_input(self) -> None:
        self.pieces.clear()

    def close(self) -> None:
        self.pieces.clear()


@dataclass
class Status:
    input_overflow: bool = False


class FakeLibrary:
    """RawInputStream and RawOutputStream as the wire uses them; a test calls the callback itself."""

    def __init__(self, fault: Exception | None = None) -> None:
        self.fault = fault
        self.settings: dict[str, Any] = {}
        self.calls: list[str] = []

    def RawInputStream(self, **settings: Any) -> "FakeLibrary":
        return self._open(settings)

    def RawOutputStream(self, **settings: Any) -> "FakeLibrary":
        return self._open(settings)

    def query_devices(self) -> list[dict[str, str]]:
        return [{"name": "USB interface"}, {"name": "HDMI"}]

    def start(self) -> None:
        self.calls.append("start")

    def abort(self) -> None:
        self.calls.append("abort")

    def close(self) -> None:
        self.calls.append("close")

    @property
    def callback(self) -> Callable[..., None]:
        callback: Callable[..., None] = self.settings["callback"]
        return callback

    def record(self, samples: bytes, status: Status | None = None) -> None:
        """What the device's thread does with an input, for one channel."""
        channels = self.settings["channels"]
        wide = np.zeros((len(samples) // 4, channels), dtype=np.float32)
        wide[:, -1] = np.frombuffer(samples, dtype=np.float32)
        self.callback(bytearray(wide.tobytes()), len(wide), None, status)

    def play(self, frames: int) -> np.ndarray[Any, np.dtype[np.float32]]:
        """What the device's thread fetches from an output: frames by channels."""
        channels = self.settings["channels"]
        out = bytearray(frames * channels * 4)
        self.callback(memoryview(out), frames, None, None)
        return np.frombuffer(bytes(out), dtype=np.float32).reshape(frames, channels)

    def _open(self, settings: dict[str, Any]) -> "FakeLibrary":
        if self.fault is not None:
            raise self.fault
        self.settings = settings
        return self


def all_of(read: Callable[[float], bytes]) -> bytes:
    """Everything that a wire has now."""
    came = b""
    while data := read(0.0):
        came += data
    return came
