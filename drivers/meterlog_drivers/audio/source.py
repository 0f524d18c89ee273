"""A sound device's output as a sine source: one loop of whole periods, repeated without a seam.

What is read back is what the device has begun to play, not what its output gives: only a meter tells that.
The tone ends when the line is closed; an output is silent until it is switched on.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np

from meterlog.reading import Nanoseconds, Refused, Settings, Tone, Wire
from meterlog.reading.pcm import Block, Kind
from meterlog_drivers.audio.device import Device
from meterlog_drivers.audio.levels import FULL_SCALE_RMS, dbfs
from meterlog_drivers.audio.plan import REFERENCE, Reference, reference_of, refuse_unknown

LONGEST_S, SHORTEST_S = 2, 0.1
SOURCE_OPTIONS: Sequence[str] = REFERENCE


@dataclass(frozen=True, slots=True)
class Loop:
    """Whole periods of a sine."""

    block: Block

    @property
    def frequency_hz(self) -> float:
        heights = np.abs(np.fft.rfft(self._samples()))
        return int(np.argmax(heights)) * self.block.rate_hz / self.block.count

    @property
    def rms(self) -> float:
        return math.sqrt(float(np.mean(self._samples() ** 2)))

    def _samples(self) -> np.ndarray[tuple[int], np.dtype[np.float64]]:
        return np.frombuffer(self.block.data, dtype=np.float32).astype(np.float64)


def loop_of(frequency_hz: float, rms: float, rate_hz: int) -> Loop:
    """As near to the frequency as LONGEST_S of samples allow: within 1e-5 of it from 1 Hz on."""
    turns = Fraction(frequency_hz / rate_hz).limit_denominator(LONGEST_S * rate_hz)
    rounds = math.ceil(SHORTEST_S * rate_hz / turns.denominator)
    count = turns.denominator * rounds
    # Reduced before it is multiplied, so that a long loop does not lose its phase.
    phase = (np.arange(count, dtype=np.int64) * turns.numerator % turns.denominator) / turns.denominator
    samples = rms / FULL_SCALE_RMS * np.sin(2.0 * math.pi * phase)
    return Loop(Block(Kind.SAMPLES, samples.astype(np.float32).tobytes(), rate_hz))


class AudioSource:
    """See `meterlog.reading.Source`."""

    def __init__(self, device: Device, reference: Reference) -> None:
        self.identity = device.identity
        self._device, self._reference = device, reference
        self._frequency_hz: float | None = None
        self._level_v: float | None = None
        self._on = False

    def set(self, frequency_hz: float | None, level_v: float | None) -> Tone:
        frequency_hz = frequency_hz if frequency_hz is not None else self._frequency_hz
        level_v = level_v if level_v is not None else self._level_v
        if frequency_hz is None or level_v is None:
            raise Refused("the output is silent: a frequency and a level are needed first")
        loop = self._loop(frequency_hz, level_v)
        self._frequency_hz, self._level_v = frequency_hz, level_v
        return self._told(Loop(self._device.play(loop.block)) if self._on else loop)

    def switch_on(self) -> Tone:
        self._on = True
        return self.set(None, None)

    def close(self) -> None:
        """The wire is closed after this, and the tone ends with it."""

    def _loop(self, frequency_hz: float, level_v: float) -> Loop:
        rate_hz, most_hz = self._device.rate_hz, self._device.band_hz
        if not 1.0 <= frequency_hz <= most_hz:
            raise Refused(
                f"{frequency_hz:g} Hz: at {rate_hz} Hz sampling a tone may have 1 Hz to {most_hz:g} Hz"
            )
        rms = level_v / self._reference.full_scale_v * FULL_SCALE_RMS
        if not 0.0 < rms <= FULL_SCALE_RMS:
            raise Refused(
                f"{level_v:.4g} V would be {dbfs(rms):+.1f} dBFS: the output gives up to "
                f"{self._reference.full_scale_v:.4g} V ({self._reference.text})"
            )
        return loop_of(frequency_hz, rms, rate_hz)

    def _told(self, loop: Loop) -> Tone:
        level_v = loop.rms / FULL_SCALE_RMS * self._reference.full_scale_v
        remark = f"{dbfs(loop.rms):+.2f} dBFS; {self._reference.text}"
        return Tone(loop.frequency_hz, level_v, self._on, remark)


def connect_source(wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> AudioSource:
    """See `meterlog.reading.DrivesSources`."""
    refuse_unknown(settings.options, SOURCE_OPTIONS)
    reference = reference_of(settings.options)
    return AudioSource(Device(wire, monotonic_ns), reference)
