"""One channel of a sound device, as a wire: samples in blocks (`meterlog.reading.pcm`).

The device's own thread brings and fetches the samples; it must never wait. So an input keeps what is not
read yet up to QUEUE_BLOCKS, then drops new blocks: their numbers tell the hole. Through the package
sounddevice and the PortAudio library, neither of which is needed for anything else.
"""

import queue
from array import array
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from typing import Any

from meterlog.reading import WireLost
from meterlog.reading.pcm import SAMPLE_BYTES, Block, Blocks, Kind

BLOCKS_A_SECOND = 20
QUEUE_BLOCKS = 100
INSTALL = (
    "sound devices need the package sounddevice: install meterlog[audio], and on Debian and its relatives "
    "the library libportaudio2"
)


def open_audio(device: str, channel: int, rate_hz: int, *, plays: bool) -> "AudioInput | AudioOutput":
    """WireLost: the device cannot be opened, or what must be installed."""
    kind = AudioOutput if plays else AudioInput
    return kind(_sounddevice(), device, channel, rate_hz)


def _sounddevice() -> Any:
    try:
        import sounddevice  # noqa: PLC0415 - an extra, and its library may be missing
    except (ImportError, OSError) as error:
        raise WireLost(f"{INSTALL} ({error})") from error
    return sounddevice


def _names(sounds: Any) -> str:
    with suppress(Exception):
        return ", ".join(device["name"] for device in sounds.query_devices()) or "none"
    return "not known"


class _Stream:
    """What input and output share. The far end of `_came` is the device's thread."""

    def __init__(self, sounds: Any, device: str, channel: int, rate_hz: int) -> None:
        self._name = f"{device}, channel {channel}"
        self._channel = channel
        self._rate_hz = rate_hz
        self._ended = False
        self._came: queue.Queue[bytes] = queue.Queue(QUEUE_BLOCKS)
        self._came.put(self._about())
        with self._translated(sounds):
            self._stream = self._opened(sounds, device)
            self._stream.start()

    def _opened(self, sounds: Any, device: str) -> Any:
        raise NotImplementedError

    def read(self, wait_s: float) -> bytes:
        with suppress(queue.Empty):
            if wait_s > 0.0:
                return self._came.get(timeout=wait_s)
            return self._came.get_nowait()
        if self._ended:
            raise WireLost(f"{self._name} has stopped; is it still plugged in?")
        return b""

    def drop_input(self) -> None:
        with suppress(queue.Empty):
            for _ in range(QUEUE_BLOCKS):
                self._came.get_nowait()

    def close(self) -> None:
        with suppress(Exception):
            self._stream.abort()
        with suppress(Exception):
            self._stream.close()

    def _about(self) -> bytes:
        text = f"{self._name}, {self._rate_hz} Hz, samples of 32-bit floats"
        return Block(Kind.TEXT, text.encode(), self._rate_hz).packed()

    def _settings(self, device: str) -> dict[str, Any]:
        return {
            "device": int(device) if device.isdecimal() else device,
            "channels": self._channel,
            "samplerate": self._rate_hz,
            "blocksize": self._rate_hz // BLOCKS_A_SECOND,
            "dtype": "float32",
            "finished_callback": self._end,
        }

    def _end(self) -> None:
        self._ended = True

    @contextmanager
    def _translated(self, sounds: Any) -> Iterator[None]:
        """The library raises errors of its own, ValueError for a name that it does not find."""
        try:
            yield
        except Exception as error:
            words = " ".join(str(error).split()) or type(error).__name__
            raise WireLost(
                f"{self._name} at {self._rate_hz} Hz: the sound library says: {words}; is the device plugged "
                f"in, its name right, and no other program using it? Sound devices are: {_names(sounds)}"
            ) from error


class AudioInput(_Stream):
    """See `meterlog.reading.Wire`."""

    _first = 0
    _missed = False

    def write(self, data: bytes) -> None:  # noqa: ARG002 - it takes nothing
        raise WireLost(f"{self._name} is an input: nothing can be played on it")

    def _opened(self, sounds: Any, device: str) -> Any:
        return sounds.RawInputStream(callback=self._take, **self._settings(device))

    def _take(self, data: Any, frames: int, _time: Any, status: Any) -> None:
        missed = self._missed or bool(status and status.input_overflow)
        samples = memoryview(data).cast("B").cast("f")[self._channel - 1 :: self._channel].tobytes()
        block = Block(Kind.SAMPLES, samples, self._rate_hz, self._first, missed)
        self._first += frames
        try:
            self._came.put_nowait(block.packed())
            self._missed = False
        except queue.Full:
            self._missed = True


class AudioOutput(_Stream):
    """See `meterlog.reading.Wire`. Silent until a block is written; between two there may be a click."""

    _wanted: Block | None = None
    _playing: Block | None = None
    _at = 0

    def write(self, data: bytes) -> None:
        for block in Blocks().feed(data):
            if block.kind is Kind.SAMPLES and block.count:
                self._wanted = block

    def _opened(self, sounds: Any, device: str) -> Any:
        return sounds.RawOutputStream(callback=self._give, **self._settings(device))

    def _give(self, data: Any, frames: int, _time: Any, _status: Any) -> None:
        wanted = self._wanted
        if wanted is not self._playing and wanted is not None:
            self._playing, self._at = wanted, 0
            with suppress(queue.Full):
                self._came.put_nowait(wanted.packed())
        out = array("f", bytes(frames * self._channel * SAMPLE_BYTES))
        if self._playing is not None:
            out[self._channel - 1 :: self._channel] = self._next(self._playing, frames)
        data[:] = out.tobytes()

    def _next(self, loop: Block, frames: int) -> "array[float]":
        """`frames` samples from where the last call ended."""
        start, stop = self._at * SAMPLE_BYTES, (self._at + frames) * SAMPLE_BYTES
        rounds = -(-stop // len(loop.data))
        self._at = (self._at + frames) % loop.count
        return array("f", (loop.data * rounds)[start:stop])
