"""The audio driver through the real sound library, on devices that the sound system makes out of files.

Needs the extra meterlog[audio], the PortAudio library and ALSA with its file plugin; no sound card. In a
process of its own, for the library looks for devices once. The files have no clock: samples come as fast as
they are fetched, so only what comes first is looked at. Tones made up; 0 dBFS as in AES17 (from memory).
"""

import math
import os
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest

pytestmark = pytest.mark.wire

DEVICES = """
pcm.nothing {{ type null }}
pcm.recorded {{
    type file slave.pcm nothing file /dev/null infile {folder}/in.raw format raw
    hint {{ show on description "recorded" }}
}}
pcm.recorder {{
    type file slave.pcm nothing file {folder}/out.raw format raw
    hint {{ show on description "recorder" }}
}}
"""
BENCH = """
import time
from contextlib import closing
from meterlog.bench.wires import open_wire
from meterlog.reading import Coupling, Line, Settings, Wanted
from meterlog_drivers.audio.driver import driver
reference = {"full_scale": "1 V", "referenced": "2026-05-01", "referenced_with": "meter"}
"""
LISTEN = """
settings = Settings(coupling=Coupling.AC, second=Wanted("frequency"), options=reference)
with closing(open_wire("audio:recorded:in1", Line())) as wire:
    meter = driver.connect(wire, settings, time.monotonic_ns)
    shown = []
    while len(shown) < 6:
        shown += meter.poll(1.0)
print(*(one.value for one in shown[:6]))
"""
PLAY = """
with closing(open_wire("audio:recorder:out1", Line())) as wire:
    source = driver.connect_source(wire, Settings(options=reference), time.monotonic_ns)
    source.set(1000.0, 0.1)
    tone = source.switch_on()
    time.sleep(0.05)
print(tone.frequency_hz, tone.level_v, tone.on)
"""


@pytest.fixture
def home(tmp_path: Path) -> Path:
    """Where the sound layer looks for the devices."""
    (tmp_path / ".asoundrc").write_text(DEVICES.format(folder=tmp_path), encoding="utf-8")
    turns = np.arange(4 * 48_000) * 1000.0 / 48_000
    (tmp_path / "in.raw").write_bytes((0.1 * np.sin(2.0 * math.pi * turns)).astype(np.float32).tobytes())
    found = _run(tmp_path, "import sounddevice as s; print(*(d['name'] for d in s.query_devices()))")
    if found.returncode or "recorder" not in found.stdout.split():
        why = found.stderr.strip().splitlines()[-1:] or ["the sound system lists no devices of files"]
        pytest.skip(f"install meterlog[audio] and libportaudio2 to run this: {why[0]}")
    return tmp_path


def _run(home: Path, code: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "HOME": str(home)}
    return subprocess.run(
        [sys.executable, "-c", code], env=environment, capture_output=True, text=True, timeout=60, check=False
    )


def test_a_recorded_sine_is_measured(home: Path) -> None:
    done = _run(home, BENCH + LISTEN)
    assert not done.returncode, done.stderr
    numbers = [float(word) for word in done.stdout.split()]
    assert numbers == pytest.approx([0.1, 1000.0] * 3, rel=1e-4)


def test_a_sine_is_played(home: Path) -> None:
    done = _run(home, BENCH + PLAY)
    assert not done.returncode, done.stderr
    frequency_hz, level_v, on = done.stdout.split()
    assert (float(frequency_hz), float(level_v), on) == (1000.0, pytest.approx(0.1), "True")
    played = np.fromfile(home / "out.raw", np.float32)
    sounding = played[np.flatnonzero(played)[0] :][: 48 * 40]
    assert np.max(sounding) == pytest.approx(0.1, rel=1e-4)
    assert math.sqrt(float(np.mean(sounding.astype(float) ** 2))) == pytest.approx(
        0.1 * math.sqrt(0.5), rel=1e-3
    )
