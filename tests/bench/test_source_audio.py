"""A sound device in a bench file, and as the bench's source. Made up; +24 dBu = 12.28 V, +4 dBu = 1.228 V."""

import queue
from contextlib import closing
from pathlib import Path

import pytest

from meterlog.bench import BenchError, DrivenSource, SourceError, SystemClock, load_bench, load_source_driver
from meterlog.bench.bench_file import check_drivers
from meterlog.bench.drivers import load_driver
from meterlog.bench.link import Link
from meterlog.bench.status import LinkStatus
from meterlog.reading import Reading
from meterlog.testing import FakeClock
from tests.drivers.audio.sounds import FakeDevice, in_blocks, packed, tone

FILE = """\
[bench]
name = "One sound device"
[[meter]]
name = "sound device"
driver = "audio"
address = "audio:box:in1"
[meter.options]
full_scale = "+24 dBu"
referenced = 2026-05-01
referenced_with = "bench meter"
[[channel]]
name = "output"
meter = "sound device"
coupling = "ac"
[[channel]]
name = "distortion"
meter = "sound device"
function = "distortion"
display = 2
[[source]]
name = "tone"
driver = "audio"
address = "audio:box:out1"
most = "+8 dBu"
[source.options]
full_scale = "+24 dBu"
referenced = "2026-05-01"
referenced_with = "bench meter"
"""


@pytest.fixture
def path(tmp_path: Path) -> Path:
    path = tmp_path / "bench.toml"
    path.write_text(FILE, encoding="utf-8")
    return path


def test_the_day_may_be_written_with_or_without_quotes(path: Path) -> None:
    bench = load_bench(path)
    check_drivers(bench, path)
    assert bench.source is not None
    assert bench.meters[0].options == bench.source.options
    assert bench.source.options["referenced"] == "2026-05-01"


def test_a_level_without_its_reference_is_refused_with_the_line_of_the_driver(path: Path) -> None:
    path.write_text(FILE.replace('referenced_with = "bench meter"\n', "", 1), encoding="utf-8")
    with pytest.raises(BenchError, match=r"bench\.toml:5.*no volts without a reference.*referenced_with"):
        check_drivers(load_bench(path), path)


def test_both_displays_are_channels_and_a_gap_is_told(path: Path) -> None:
    """A sine at -20 dBFS where 0 dBFS is +24 dBu; 100 ms are lost after the first reading."""
    bench = load_bench(path)
    samples = tone(1000.0, 0.1, 0.3)
    blocks = [*in_blocks(samples), *in_blocks(samples, first=len(samples) // 4 + 4800)]
    came: queue.Queue[Reading] = queue.Queue()
    said: queue.Queue[LinkStatus] = queue.Queue()
    link = Link(
        bench.meters[0],
        bench.channels_of("sound device"),
        load_driver("audio"),
        SystemClock(),
        deliver=came.put,
        on_state=said.put,
        open_wire=lambda *_: FakeDevice(FakeClock(), packed(blocks[:6]), packed(blocks[6:])),
    )
    link.start()
    try:
        readings = [came.get(timeout=10) for _ in range(4)]
        while "4800 samples were lost" not in said.get(timeout=10).remark:
            pass
    finally:
        assert link.stop()
    assert [one.channel for one in readings] == ["output", "distortion"] * 2
    assert [one.value for one in readings[::2]] == pytest.approx([1.228] * 2, rel=1e-3)


def driven(path: Path, device: FakeDevice) -> DrivenSource:
    entry = load_bench(path).source
    assert entry is not None
    return DrivenSource(entry, load_source_driver("audio"), SystemClock(), open_wire=lambda *_: device)


def test_the_bench_sets_it_reads_it_back_and_switches_it_on(path: Path) -> None:
    device = FakeDevice(FakeClock())
    with closing(driven(path, device)) as source:
        assert source.set(997.0, 1.228).startswith("997 Hz, 1.228 V; -20.00 dBFS; 0 dBFS is +24 dBu, ref")
        assert len(device.played) == 1
        assert source.set(50.0, None).startswith("50 Hz, 1.228 V")
        assert len(device.played) == 2


def test_what_it_cannot_give_stays_with_the_person(path: Path) -> None:
    device = FakeDevice(FakeClock())
    with closing(driven(path, device)) as source:
        with pytest.raises(SourceError, match="more than the bench file allows"):
            source.set(1000.0, 3.0)
        with pytest.raises(SourceError, match="may have 1 Hz to 21600 Hz"):
            source.set(30_000.0, 1.0)
    assert device.played == []
