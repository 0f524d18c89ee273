"""What a meter shows of a waveform that is no sine.

A true-rms meter shows the rms value of any waveform whose crests its range takes. Others rectify, average and
show what that would be of a sine: pi / (2 sqrt 2) times the mean of the magnitude. What this comes to is
computed here from the waveforms themselves, and stands in many makers' handbooks.
"""

import math
from enum import StrEnum
from typing import NamedTuple


class Response(StrEnum):
    """What an AC function makes of a waveform."""

    TRUE_RMS = "true rms"
    AVERAGE = "average"


class Waveform(StrEnum):
    """Rectified sines are meant without their mean, as an AC function sees them; noise is Gaussian."""

    SINE = "sine"
    SQUARE = "square"
    TRIANGLE = "triangle"
    FULL_WAVE = "full-wave"
    HALF_WAVE = "half-wave"
    NOISE = "noise"


class Signal(NamedTuple):
    """What is measured. distortion: harmonics over the fundamental, a share."""

    frequency_hz: float | None = None
    waveform: Waveform = Waveform.SINE
    distortion: float = 0.0


def _rectified(duty: float) -> tuple[float, float]:
    """Mean magnitude and rms of |sin| (duty 1) or of its one half-wave (duty 0.5), each less its mean."""
    mean = 2.0 * duty / math.pi
    crossing = math.asin(mean)
    above = math.cos(crossing) - mean * (math.pi / 2.0 - crossing)
    return 4.0 * duty / math.pi * above, math.sqrt(duty / 2.0 - mean**2)


_MAGNITUDE_AND_RMS = {
    Waveform.SINE: (2.0 / math.pi, 1.0 / math.sqrt(2.0)),
    Waveform.SQUARE: (1.0, 1.0),
    Waveform.TRIANGLE: (0.5, 1.0 / math.sqrt(3.0)),
    Waveform.FULL_WAVE: _rectified(1.0),
    Waveform.HALF_WAVE: _rectified(0.5),
    Waveform.NOISE: (math.sqrt(2.0 / math.pi), 1.0),
}
CREST_FACTORS = {
    Waveform.SINE: math.sqrt(2.0),
    Waveform.SQUARE: 1.0,
    Waveform.TRIANGLE: math.sqrt(3.0),
    Waveform.FULL_WAVE: (2.0 / math.pi) / _MAGNITUDE_AND_RMS[Waveform.FULL_WAVE][1],
    Waveform.HALF_WAVE: (1.0 - 1.0 / math.pi) / _MAGNITUDE_AND_RMS[Waveform.HALF_WAVE][1],
    Waveform.NOISE: 3.0,
}
"""Noise has no largest crest; cut at three times its rms it loses 0.25 % of it (calculated)."""
_HARMONICS = math.sqrt(math.pi**2 / 8.0 - 1.0)


def average_over_rms(waveform: Waveform) -> float:
    """What an average-responding meter shows over the rms value; 1 for a sine."""
    (magnitude, rms), (of_sine, sine_rms) = _MAGNITUDE_AND_RMS[waveform], _MAGNITUDE_AND_RMS[Waveform.SINE]
    return (magnitude / rms) / (of_sine / sine_rms)


def off_by_waveform(waveform: Waveform) -> float:
    """The share of its reading that an average-responding meter is off by, without its sign."""
    return abs(1.0 / average_over_rms(waveform) - 1.0)


def off_by_distortion(distortion: float) -> float:
    """The share of its reading that harmonics may make an average-responding meter wrong by.

    To the first order the nth harmonic moves the mean magnitude of a sine by its share over n at most, where
    n is odd, and not at all where it is even: a third alone by a third. Whatever a distortion is made of, the
    sum stays within it times sqrt(1/9 + 1/25 + ...) (Cauchy and Schwarz), 0.483, which a square wave comes
    to. The rms value itself holds half its square.
    """
    return _HARMONICS * distortion + distortion**2 / 2.0
