"""Levels of sampled signals. Pure: samples in, numbers out; full scale is 1.0.

0 dBFS is the rms level of a sine whose peaks reach full scale (AES17, from memory): a square wave at full
scale has +3.01 dBFS.

    wideband       rms, the mean taken out, weighted by a Hann window so that cut periods do not count
    one line       the Fourier sum at one frequency, which is what Goertzel's algorithm computes, under a
                   flat-top window: half a bin beside the line it still shows the level within 0.02 dB
    frequency      the highest line between the bins, by the ratio of its two neighbours under a Hann window
    distortion     rms of harmonics 2 to 10 as share of the rms of fundamental and harmonics together (IEC
                   60268-3: of the total; from memory); harmonics beyond the band are left out
"""

import math
from dataclasses import dataclass
from functools import lru_cache

import numpy as np
from numpy.typing import NDArray

Samples = NDArray[np.float64]

FULL_SCALE_RMS = math.sqrt(0.5)
CLIPPED = 1.0 - 2.0**-15
"""The highest code of 16 bits: a sample there may have been higher."""
HARMONICS = range(2, 11)
LEAST_PERIODS = 6
"""The flat-top window keeps lines apart that lie 5 bins apart."""
FLAT_TOP = (0.21557895, 0.41663158, 0.277263158, 0.083578947, 0.006947368)
"""Terms of a flat-top window, as signal libraries have them: side lobes below -90 dB."""
HANN = (0.5, 0.5)
NEAR = 0.03
"""Of a frequency: as far off a tape may run, or a generator that is set by hand (common practice)."""
QUIET_RMS = 1e-5 * FULL_SCALE_RMS
"""-100 dBFS: no tone, for frequency and distortion."""


def dbfs(rms: float) -> float:
    return 20.0 * math.log10(rms / FULL_SCALE_RMS) if rms > 0.0 else -math.inf


def clipped(samples: Samples) -> bool:
    return bool(np.max(np.abs(samples)) >= CLIPPED)


def wideband_rms(samples: Samples) -> float:
    weight = window(len(samples), HANN)
    centred = samples - np.average(samples, weights=weight)
    return math.sqrt(float(np.average(centred**2, weights=weight)))


def line_rms(samples: Samples, frequency_hz: float, rate_hz: float) -> float:
    """The rms level of the line at one frequency."""
    weight = window(len(samples), FLAT_TOP)
    turns = np.arange(len(samples)) * (frequency_hz / rate_hz)
    centred = samples - np.average(samples, weights=weight)
    total = np.sum(weight * centred * np.exp(-2j * math.pi * turns))
    return math.sqrt(2.0) * float(abs(total)) / float(np.sum(weight))


def strongest_hz(samples: Samples, rate_hz: float, near_hz: float | None = None) -> float | None:
    """The frequency of the highest line, of all or of those near a frequency; None if there is no tone, or
    one too low for this many samples."""
    count = len(samples)
    weight = window(count, HANN)
    centred = samples - np.average(samples, weights=weight)
    heights = np.abs(np.fft.rfft(centred * weight))
    first, last = _bins(near_hz, rate_hz / count, len(heights))
    top = int(np.argmax(heights[first:last])) + first
    if heights[top] / np.sum(weight) * math.sqrt(2.0) < QUIET_RMS or top < LEAST_PERIODS:
        return None
    if heights[top] < max(heights[top - 1], heights[top + 1]):
        return None  # the foot of a line that lies further away
    return (top + _between(*heights[top - 1 : top + 2])) * rate_hz / count


def _bins(near_hz: float | None, bin_hz: float, count: int) -> tuple[int, int]:
    """From where to where, the last not included; never the outermost, which have one neighbour."""
    if near_hz is None:
        return 1, count - 1
    least, most = (round(near_hz * (1.0 + side) / bin_hz) for side in (-NEAR, NEAR))
    first = min(max(1, least - 1), count - 3)
    return first, max(first + 1, min(count - 1, most + 2))


def _between(before: float, top: float, after: float) -> float:
    """Where the line lies beside its bin, -0.5 to 0.5: the ratio of neighbours of a Hann window."""
    side, sign = (after, 1.0) if after >= before else (before, -1.0)
    ratio = side / top
    return float(sign * (2.0 * ratio - 1.0) / (ratio + 1.0))


@dataclass(frozen=True, slots=True)
class Distortion:
    """share: 0 to 1; harmonics: how many there were within the band."""

    share: float
    harmonics: int


def distortion(samples: Samples, fundamental_hz: float, rate_hz: float) -> Distortion | None:
    """None: no harmonic lies within the band, or there is no tone."""
    margin_hz = LEAST_PERIODS * rate_hz / len(samples)
    inside = [n * fundamental_hz for n in HARMONICS if n * fundamental_hz < rate_hz / 2.0 - margin_hz]
    fundamental = line_rms(samples, fundamental_hz, rate_hz)
    if not inside or fundamental < QUIET_RMS:
        return None
    harmonics = math.hypot(*(line_rms(samples, at_hz, rate_hz) for at_hz in inside))
    return Distortion(harmonics / math.hypot(fundamental, harmonics), len(inside))


@lru_cache(maxsize=4)
def window(count: int, terms: tuple[float, ...]) -> Samples:
    """A cosine sum whose period is `count`."""
    turns = np.arange(count) / count
    summed = sum(
        ((-1) ** k * term * np.cos(2.0 * math.pi * k * turns) for k, term in enumerate(terms)),
        start=np.zeros(count),
    )
    summed.flags.writeable = False
    return summed
