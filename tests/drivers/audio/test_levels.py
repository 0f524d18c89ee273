"""Levels of synthesised signals.

Against: AES17 (0 dBFS is the rms of a full-scale sine, so a full-scale square wave has +3.01 dBFS; from
memory); Fourier series of square and triangle (any handbook); the discrete Fourier transform of numpy and the
flat-top window of scipy; its scalloping as the coefficients give it. Other numbers follow from these.
"""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import signal

from meterlog_drivers.audio.levels import (
    FLAT_TOP,
    FULL_SCALE_RMS,
    Samples,
    clipped,
    dbfs,
    distortion,
    line_rms,
    strongest_hz,
    wideband_rms,
    window,
)

RATE_HZ = 48_000
COUNT = 12_000


def sine(frequency_hz: float, peak: float = 1.0, phase: float = 0.0, count: int = COUNT) -> Samples:
    turns = np.arange(count) * frequency_hz / RATE_HZ
    return np.asarray(peak * np.sin(2.0 * math.pi * turns + phase), dtype=np.float64)


def series(fundamental_hz: float, **peaks: float) -> Samples:
    """h1, h2, ... as peaks of the harmonics."""
    parts = [sine(int(name[1:]) * fundamental_hz, peak) for name, peak in peaks.items()]
    return np.asarray(sum(parts), dtype=np.float64)


def test_a_full_scale_sine_is_0_dbfs_and_a_full_scale_square_3_db_more() -> None:
    assert dbfs(wideband_rms(sine(1000.0))) == pytest.approx(0.0, abs=1e-6)
    square = np.sign(sine(1000.0, phase=0.1))
    assert dbfs(wideband_rms(square)) == pytest.approx(3.0103, abs=1e-3)
    assert dbfs(wideband_rms(sine(1000.0, 0.1))) == pytest.approx(-20.0, abs=1e-6)
    assert dbfs(0.0) == -math.inf


@given(st.floats(40.0, 20_000.0), st.floats(0.0, 6.283), st.floats(-80.0, 0.0))
def test_wideband_does_not_hang_on_where_the_periods_are_cut(
    frequency_hz: float, phase: float, level: float
) -> None:
    """10 periods or more in the interval: within 0.01 dB."""
    samples = sine(frequency_hz, 10.0 ** (level / 20.0), phase)
    assert dbfs(wideband_rms(samples)) == pytest.approx(level, abs=0.01)


def test_dc_is_no_level() -> None:
    assert wideband_rms(np.full(COUNT, 0.3)) == pytest.approx(0.0, abs=1e-12)
    assert dbfs(wideband_rms(sine(1000.0, 0.5) + 0.3)) == pytest.approx(-6.0206, abs=1e-4)


def test_the_flat_top_window_is_that_of_the_library() -> None:
    assert np.allclose(window(64, FLAT_TOP), signal.windows.flattop(64, sym=False), atol=1e-8)


def test_one_line_is_what_the_fourier_transform_gives_at_its_bin() -> None:
    """Goertzel's sum at a whole bin is the bin of the FFT."""
    samples = np.random.default_rng(1).normal(size=960)
    weight = window(960, FLAT_TOP)
    centred = samples - np.average(samples, weights=weight)
    bins = np.abs(np.fft.rfft(weight * centred)) * math.sqrt(2.0) / np.sum(weight)
    for k in (7, 100, 333):
        assert line_rms(samples, k * RATE_HZ / 960, RATE_HZ) == pytest.approx(bins[k], rel=1e-9)


@given(st.floats(40.0, 20_000.0), st.floats(0.0, 6.283), st.floats(-100.0, 0.0))
def test_the_level_of_a_line_at_its_frequency(frequency_hz: float, phase: float, level: float) -> None:
    samples = sine(frequency_hz, 10.0 ** (level / 20.0), phase)
    assert dbfs(line_rms(samples, frequency_hz, RATE_HZ)) == pytest.approx(level, abs=0.01)


@given(st.floats(-2.0, 2.0))
def test_scalloping_is_what_the_coefficients_give(bins_beside: float) -> None:
    """The transform of a cosine sum: each term is a pair of sincs k bins away; half a bin costs < 0.02 dB."""
    found = line_rms(sine(1000.0 + bins_beside * RATE_HZ / COUNT), 1000.0, RATE_HZ) / FULL_SCALE_RMS
    pairs = [
        term * (np.sinc(bins_beside - k) + np.sinc(bins_beside + k)) / 2.0 for k, term in enumerate(FLAT_TOP)
    ]
    assert found == pytest.approx(abs(sum(pairs)) / FLAT_TOP[0], rel=1e-3)
    if abs(bins_beside) <= 0.5:
        assert dbfs(found * FULL_SCALE_RMS) == pytest.approx(0.0, abs=0.02)


def test_one_line_leaves_out_the_others() -> None:
    hum = sine(50.0) + sine(1000.0, 1e-3)
    assert dbfs(line_rms(hum, 1000.0, RATE_HZ)) == pytest.approx(-60.0, abs=0.01)


@given(st.floats(40.0, 21_000.0), st.floats(0.0, 6.283))
def test_the_frequency_of_a_sine(frequency_hz: float, phase: float) -> None:
    """A bin is 4 Hz; found within a twentieth of it from 10 periods on."""
    assert strongest_hz(sine(frequency_hz, 0.5, phase), RATE_HZ) == pytest.approx(frequency_hz, abs=0.2)


def test_no_tone_has_no_frequency() -> None:
    assert strongest_hz(np.zeros(COUNT), RATE_HZ) is None
    assert strongest_hz(sine(1000.0, 0.5e-5), RATE_HZ) is None
    assert strongest_hz(sine(12.0), RATE_HZ) is None, "3 periods are too few"


def test_distortion_of_a_stated_series() -> None:
    """3 % and 4 % of the fundamental: 5 % of it, 5 / sqrt(1 + 0.05^2) = 4.994 % of the total."""
    found = distortion(series(1000.0, h1=0.5, h2=0.015, h3=0.02), 1000.0, RATE_HZ)
    assert found is not None
    assert found.harmonics == 9
    assert 100.0 * found.share == pytest.approx(4.9938, rel=1e-4)


def test_distortion_of_a_square_and_a_triangle() -> None:
    """Harmonics 1/n, and 1/n^2, of odd n up to 9 (n from 2 to 10)."""
    odd = (3, 5, 7, 9)
    square = {f"h{n}": 0.4 / n for n in (1, *odd)}
    triangle = {f"h{n}": 0.4 / n**2 for n in (1, *odd)}
    for peaks, power in ((square, 2), (triangle, 4)):
        share = math.hypot(*(1.0 / n ** (power // 2) for n in odd))
        found = distortion(series(1000.0, **peaks), 1000.0, RATE_HZ)
        assert found is not None
        assert found.share == pytest.approx(share / math.hypot(1.0, share), rel=1e-4)


def test_what_lies_beyond_harmonic_10_or_the_band_is_no_distortion() -> None:
    beyond = distortion(series(1000.0, h1=0.5, h11=0.1), 1000.0, RATE_HZ)
    assert beyond is not None
    assert beyond.share < 2e-5, "what is left is the window's"
    high = distortion(series(7000.0, h1=0.5, h2=0.005, h3=0.005), 7000.0, RATE_HZ)
    assert high is not None
    assert (high.harmonics, high.share) == (2, pytest.approx(0.014141, rel=1e-3))
    assert distortion(sine(13_000.0), 13_000.0, RATE_HZ) is None
    assert distortion(np.zeros(COUNT), 1000.0, RATE_HZ) is None


@given(st.floats(100.0, 2000.0), st.floats(0.0005, 0.3))
def test_distortion_hangs_neither_on_level_nor_frequency(fundamental_hz: float, share: float) -> None:
    found = distortion(series(fundamental_hz, h1=0.6, h3=0.6 * share), fundamental_hz, RATE_HZ)
    assert found is not None
    assert found.share == pytest.approx(share / math.hypot(1.0, share), rel=0.01, abs=3e-5)


def test_a_sample_at_full_scale_may_have_been_clipped() -> None:
    assert clipped(np.array([0.1, 32767 / 32768, 0.1]))
    assert clipped(np.array([0.1, -1.0]))
    assert not clipped(sine(1000.0, 0.9999))


def test_full_scale_is_a_sine_s() -> None:
    assert pytest.approx(1.0 / math.sqrt(2.0)) == FULL_SCALE_RMS
