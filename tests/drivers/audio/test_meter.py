"""A sound device as a meter, on a wire that exists only in the test.

Levels: a sine at -20 dBFS where 0 dBFS is +24 dBu has +4 dBu, 1.228 V (AES17 for dBFS, from memory; 0 dBu =
sqrt(0.6) V). Tones and gaps are made up.
"""

from collections.abc import Sequence
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.quantity import Unit
from meterlog.reading import (
    Coupling,
    Garbled,
    Indication,
    Meter,
    Remarks,
    Settings,
    State,
    Unanswered,
    Wanted,
    WrongMeter,
)
from meterlog.reading.pcm import Block, Kind
from meterlog.testing import FakeClock
from meterlog_drivers.audio.driver import driver
from meterlog_drivers.audio.intervals import Intervals
from tests.drivers.audio.sounds import RATE_HZ, FakeDevice, about, in_blocks, packed, tone
from tests.drivers.audio.test_plan import REFERENCE

LEVEL = Settings(coupling=Coupling.AC, options=REFERENCE)
PLUS_4_DBU_V = 1.228


def connected(settings: Settings, *pieces: bytes) -> Meter:
    clock = FakeClock()
    return driver.connect(FakeDevice(clock, *pieces), settings, clock)


def polled(meter: Meter) -> list[Indication]:
    shown: list[Indication] = []
    for _ in range(40):
        shown += meter.poll(0.1)
    return shown


def remarks(meter: Meter) -> Sequence[str]:
    assert isinstance(meter, Remarks)
    return meter.remarks()


def values(shown: Sequence[Indication]) -> list[float]:
    return [one.value for one in shown if one.value is not None]


def test_a_level_in_volts() -> None:
    meter = connected(LEVEL, packed(in_blocks(tone(1000.0, 0.1, 0.5))))
    shown = polled(meter)
    assert values(shown) == pytest.approx([PLUS_4_DBU_V] * 2, rel=1e-3)
    first = shown[0]
    assert (first.unit, first.coupling, first.function) == (Unit.VOLT, Coupling.AC, "voltage")
    assert first.range_max == pytest.approx(12.28, rel=1e-3)
    assert first.raw == b"-20.000 dBFS at 48000 Hz"
    assert meter.period_s == 0.25
    assert remarks(meter) == ["0 dBFS is +24 dBu, referenced 2026-05-01 with bench meter"]
    assert remarks(meter) == []


def test_a_reading_is_dated_by_the_beginning_of_its_interval() -> None:
    """Blocks of 50 ms, each as it comes: the first interval began 50 ms before its first block came."""
    clock = FakeClock()
    pieces = [block.packed() for block in in_blocks(tone(1000.0, 0.1, 0.5))]
    meter = driver.connect(FakeDevice(clock, *pieces), LEVEL, clock)
    began_ns = clock.now_ns
    shown = polled(meter)
    assert [one.monotonic_ns - began_ns for one in shown] == [0, 250_000_000]


def test_one_line_beside_a_stronger_one() -> None:
    both = Block(Kind.SAMPLES, tone(1000.0, 0.1, 0.25), RATE_HZ)
    hum = tone(50.0, 0.5, 0.25)
    mixed = (np.frombuffer(both.data, np.float32) + np.frombuffer(hum, np.float32)).tobytes()
    settings = Settings(coupling=Coupling.AC, options={**REFERENCE, "frequency": 1000})
    assert values(polled(connected(settings, packed(in_blocks(mixed))))) == pytest.approx(
        [PLUS_4_DBU_V], rel=1e-3
    )


def began(blocks: Sequence[Block], read_s: Sequence[float], count: int) -> list[float]:
    """When the intervals of so many blocks began, each block read at its time."""
    intervals = Intervals(count)
    return [
        began_ns / 1e9
        for block, at_s in zip(blocks, read_s, strict=True)
        for began_ns, _ in intervals.add(block, round(at_s * 1e9))
    ]


def test_samples_that_had_to_wait_are_no_younger_for_it() -> None:
    """Twenty blocks of 50 ms; whoever reads them is away from 0.25 s to 4 s."""
    read_s = [0.05 * n if n <= 5 else 4.0 for n in range(1, 21)]
    found = began(in_blocks(tone(1000.0, 0.1, 1.0)), read_s, 12_000)
    assert found == pytest.approx([0.0, 0.25, 0.5, 0.75], abs=1e-3)


@pytest.mark.parametrize("share", [1.0001, 0.9999])
def test_the_dates_follow_the_clock_of_the_device(share: float) -> None:
    """A crystal 100 millionths off is 0.36 s off after an hour."""
    blocks = [Block(Kind.SAMPLES, bytes(48), 48, 12 * n) for n in range(14_400)]
    found = began(blocks, [0.25 * share * (n + 1) for n in range(14_400)], 12)
    assert found[-1] == pytest.approx(0.25 * share * 14_399, abs=1e-3)


@pytest.mark.parametrize("true_hz", [1000.0, 1003.0, 995.0, 1025.0])
def test_a_tape_that_runs_fast_or_slow_has_its_true_level_and_distortion(true_hz: float) -> None:
    """Harmonics of a tone 5 Hz off lie up to 50 Hz beside those of the frequency that was written: not seen
    there, 1 % would read as 0.04 %. 1 % of the fundamental is that of the total too (sqrt(1 + 1e-4))."""
    both = np.frombuffer(tone(true_hz, 0.1, 0.25), np.float32) + np.frombuffer(
        tone(3.0 * true_hz, 0.001, 0.25), np.float32
    )
    options = {**REFERENCE, "frequency": 1000}
    settings = Settings(coupling=Coupling.AC, second=Wanted("distortion"), options=options)
    level, distortion = values(polled(connected(settings, packed(in_blocks(both.tobytes())))))
    assert level == pytest.approx(PLUS_4_DBU_V, rel=1e-3)
    assert distortion == pytest.approx(1.0, rel=2e-3)


def test_no_tone_near_the_frequency_has_no_distortion() -> None:
    settings = Settings("distortion", options={"frequency": 1000})
    (shown,) = polled(connected(settings, packed(in_blocks(tone(1100.0, 0.5, 0.25)))))
    assert shown.state is State.BLANK


def test_two_displays() -> None:
    settings = Settings("distortion", second=Wanted("frequency"))
    shown = polled(connected(settings, packed(in_blocks(tone(3150.0, 0.5, 0.25)))))
    assert [(one.display, one.unit) for one in shown] == [(1, Unit.PERCENT), (2, Unit.HERTZ)]
    assert shown[0].value == pytest.approx(0.0, abs=0.003)
    assert shown[1].value == pytest.approx(3150.0, abs=0.05)


def test_silence_has_no_distortion_and_no_frequency() -> None:
    settings = Settings("distortion", second=Wanted("frequency"))
    shown = polled(connected(settings, packed(in_blocks(bytes(4 * 12_000)))))
    assert [one.state for one in shown] == [State.BLANK, State.BLANK]


def test_clipping_is_an_overload_in_every_function() -> None:
    for settings in (LEVEL, Settings("distortion", second=Wanted("frequency"))):
        shown = polled(connected(settings, packed(in_blocks(tone(1000.0, 1.0, 0.25)))))
        assert {one.state for one in shown} == {State.OVERLOAD}
        assert values(shown) == []


def test_no_reading_reaches_across_a_hole_in_the_numbers() -> None:
    """Two tones of different level, 2400 samples lost between them in the middle of an interval."""
    before, after = tone(1000.0, 0.1, 0.35), tone(1000.0, 0.2, 0.3)
    first = len(before) // 4 + 2400
    meter = connected(LEVEL, packed(in_blocks(before)) + packed(in_blocks(after, first=first)))
    assert values(polled(meter)) == pytest.approx([PLUS_4_DBU_V, 2 * PLUS_4_DBU_V], rel=1e-3)
    assert "2400 samples were lost; what was measured across the gap is left out" in remarks(meter)


def test_no_reading_reaches_across_an_overrun() -> None:
    blocks = in_blocks(tone(1000.0, 0.1, 0.25))
    blocks[3] = Block(Kind.SAMPLES, blocks[3].data, RATE_HZ, blocks[3].first, missed=True)
    meter = connected(LEVEL, packed(blocks))
    assert polled(meter) == []
    assert any("the device lost samples" in remark for remark in remarks(meter))


def test_what_is_no_number_is_left_out() -> None:
    meter = connected(LEVEL, packed(in_blocks(b"\x00\x00\xc0\x7f" * 12_000)))
    assert polled(meter) == []
    assert any("no number" in remark for remark in remarks(meter))


def test_after_a_resynchronisation_it_begins_anew() -> None:
    meter = connected(LEVEL, packed(in_blocks(tone(1000.0, 0.1, 0.2))))
    assert meter.poll(0.1) == []
    meter.resynchronise()
    assert polled(meter) == []


@given(st.lists(st.integers(1, 30_000), max_size=12))
def test_the_same_however_the_stream_is_cut(cuts: list[int]) -> None:
    stream = packed(in_blocks(tone(440.0, 0.3, 0.6)))
    places = sorted({0, *(cut * 4 for cut in cuts if cut * 4 < len(stream)), len(stream)})
    pieces = [stream[a:b] for a, b in pairwise(places)]
    whole, cut = polled(connected(LEVEL, stream)), polled(connected(LEVEL, *pieces))
    assert values(cut) == values(whole)
    assert len(whole) == 2


def test_another_device_is_refused() -> None:
    with pytest.raises(WrongMeter, match='wants "S-9"'):
        connected(Settings("distortion", options={"identity": "S-9"}))


def test_a_line_beyond_the_band_is_refused() -> None:
    with pytest.raises(ValueError, match="23000 Hz is beyond the band of 48000 Hz"):
        connected(Settings("distortion", options={"frequency": 23_000}))


def test_a_device_that_says_nothing_or_no_rate_is_no_meter() -> None:
    clock = FakeClock()
    silent = FakeDevice(clock)
    silent.pieces.clear()
    with pytest.raises(Unanswered, match="nothing for 3 s"):
        driver.connect(silent, LEVEL, clock)
    rateless = FakeDevice(clock)
    rateless.pieces = [about(0)]
    with pytest.raises(Garbled, match="does not say its sample rate"):
        driver.connect(rateless, LEVEL, clock)
