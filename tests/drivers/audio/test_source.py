"""A sound device as tone source. 0 dBFS: AES17, from memory; +4 dBu = 1.228 V. The rest is made up."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Refused, Settings, Unanswered
from meterlog.testing import FakeClock
from meterlog_drivers.audio.levels import FULL_SCALE_RMS
from meterlog_drivers.audio.source import AudioSource, connect_source, loop_of
from tests.drivers.audio.sounds import RATE_HZ, FakeDevice
from tests.drivers.audio.test_plan import REFERENCE


def connected() -> tuple[AudioSource, FakeDevice]:
    clock = FakeClock()
    device = FakeDevice(clock)
    return connect_source(device, Settings(options=REFERENCE), clock), device


@given(st.floats(1.0, 21_000.0), st.floats(1e-4, FULL_SCALE_RMS))
def test_a_loop_has_whole_periods_of_the_tone(frequency_hz: float, rms: float) -> None:
    loop = loop_of(frequency_hz, rms, RATE_HZ)
    assert loop.frequency_hz == pytest.approx(frequency_hz, rel=1e-5)
    assert loop.rms == pytest.approx(rms, rel=1e-5)
    periods = loop.frequency_hz * loop.block.count / RATE_HZ
    assert periods == pytest.approx(round(periods), abs=1e-6)
    assert 0.1 * RATE_HZ <= loop.block.count <= 2.0 * RATE_HZ


def test_a_loop_goes_on_without_a_seam() -> None:
    """The step over the seam is no larger than the largest within."""
    loop = loop_of(997.0, FULL_SCALE_RMS, RATE_HZ)
    samples = np.frombuffer(loop.block.data, np.float32)
    steps = np.abs(np.diff(np.concatenate([samples, samples[:1]])))
    assert steps[-1] <= np.max(steps[:-1]) * 1.001
    assert np.max(np.abs(samples)) <= 1.0


def test_nothing_sounds_until_it_is_switched_on() -> None:
    source, device = connected()
    tone = source.set(1000.0, 1.228)
    assert (tone.on, device.played) == (False, [])
    assert (tone.frequency_hz, tone.level_v) == pytest.approx((1000.0, 1.228))
    assert source.switch_on().on
    assert len(device.played) == 1
    assert source.set(100.0, None).frequency_hz == pytest.approx(100.0)
    assert len(device.played) == 2


def test_the_level_in_dbfs_with_its_reference() -> None:
    remark = connected()[0].set(1000.0, 1.228).remark
    assert remark == "-20.00 dBFS; 0 dBFS is +24 dBu, referenced 2026-05-01 with bench meter"


def test_what_is_read_back_is_what_the_device_plays() -> None:
    source, device = connected()
    source.set(1000.0, 1.0)
    other = loop_of(440.0, 0.1, RATE_HZ)

    def write(data: bytes) -> None:
        device.pieces.append(other.block.packed())

    device.write = write  # type: ignore[method-assign]
    tone = source.switch_on()
    assert tone.frequency_hz == pytest.approx(440.0)
    assert tone.level_v == pytest.approx(0.1 / FULL_SCALE_RMS * math.sqrt(0.6) * 10 ** (24 / 20), rel=1e-4)


def test_a_device_that_has_stopped_plays_nothing() -> None:
    source, device = connected()
    source.set(1000.0, 1.0)
    device.stuck = True
    with pytest.raises(Unanswered):
        source.switch_on()


@pytest.mark.parametrize(
    ("frequency_hz", "level_v", "says"),
    [
        (1000.0, 13.0, r"13 V would be \+0\.5 dBFS: the output gives up to 12\.28 V"),
        (1000.0, 0.0, "0 V would be -inf dBFS"),
        (22_000.0, 1.0, "may have 1 Hz to 21600 Hz"),
        (0.5, 1.0, "may have 1 Hz to 21600 Hz"),
        (1000.0, None, "a frequency and a level are needed first"),
    ],
)
def test_what_it_cannot_give_is_refused(frequency_hz: float, level_v: float | None, says: str) -> None:
    with pytest.raises(Refused, match=says):
        connected()[0].set(frequency_hz, level_v)


def test_a_refused_tone_changes_nothing() -> None:
    source, _ = connected()
    source.set(1000.0, 1.0)
    with pytest.raises(Refused):
        source.set(1000.0, 99.0)
    assert source.switch_on().level_v == pytest.approx(1.0)


def test_no_level_without_a_reference() -> None:
    clock = FakeClock()
    with pytest.raises(ValueError, match="no volts without a reference"):
        connect_source(FakeDevice(clock), Settings(), clock)
    with pytest.raises(ValueError, match="no option average"):
        connect_source(FakeDevice(clock), Settings(options={**REFERENCE, "average": 1}), clock)
