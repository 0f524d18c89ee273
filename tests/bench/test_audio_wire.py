"""The wire of a sound device, on a stand-in for the sound library. Names and numbers are made up."""

import subprocess
import sys

import numpy as np
import pytest

from meterlog.bench.wires import AudioAddress, open_wire, parse_address
from meterlog.bench.wires.audio_wire import QUEUE_BLOCKS, AudioInput, AudioOutput
from meterlog.reading import Line, WireLost
from meterlog.reading.pcm import Block, Blocks, Kind
from tests.drivers.audio.sounds import FakeLibrary, Status, all_of, tone


@pytest.mark.parametrize(
    ("text", "address"),
    [
        ("audio:USB interface:in1", AudioAddress("USB interface", 1, plays=False)),
        ("audio:USB: hw:1,0:out2@96000", AudioAddress("USB: hw:1,0", 2, plays=True, rate_hz=96_000)),
    ],
)
def test_addresses(text: str, address: AudioAddress) -> None:
    assert parse_address(text) == address


def blocks_of(wire: AudioInput | AudioOutput) -> list[Block]:
    return list(Blocks().feed(all_of(wire.read)))


def test_an_input_says_who_it_is_then_gives_its_channel_alone() -> None:
    library = FakeLibrary()
    wire = AudioInput(library, "box", 2, 48_000)
    library.record(tone(1000.0, 0.5, 0.05))
    library.record(tone(1000.0, 0.5, 0.05))
    said, first, second = blocks_of(wire)
    assert (said.kind, said.rate_hz) == (Kind.TEXT, 48_000)
    assert said.data == b"box, channel 2, 48000 Hz, samples of 32-bit floats"
    assert (first.data, first.first, first.missed) == (tone(1000.0, 0.5, 0.05), 0, False)
    assert (second.first, second.rate_hz) == (2400, 48_000)
    assert (library.settings["channels"], library.settings["dtype"]) == (2, "float32")


def test_an_overrun_is_told_with_the_block_after_it() -> None:
    library = FakeLibrary()
    wire = AudioInput(library, "box", 1, 48_000)
    library.record(bytes(40))
    library.record(bytes(40), Status(input_overflow=True))
    library.record(bytes(40))
    assert [block.missed for block in blocks_of(wire)[1:]] == [False, True, False]


def test_what_nobody_reads_is_dropped_and_leaves_a_hole() -> None:
    library = FakeLibrary()
    wire = AudioInput(library, "box", 1, 48_000)
    for _ in range(QUEUE_BLOCKS + 10):
        library.record(bytes(40))
    kept = blocks_of(wire)[1:]
    library.record(bytes(40))
    (after,) = blocks_of(wire)
    assert len(kept) == QUEUE_BLOCKS - 1
    assert after.missed
    assert after.first == (QUEUE_BLOCKS + 10) * 10 > kept[-1].first + 10


def test_an_output_repeats_its_block_on_its_channel_and_gives_it_back_once() -> None:
    library = FakeLibrary()
    wire = AudioOutput(library, "box", 2, 48_000)
    wire.drop_input()
    assert not library.play(5).any()
    loop = np.array([0.1, 0.2, 0.3], np.float32)
    wire.write(Block(Kind.SAMPLES, loop.tobytes(), 48_000).packed())
    assert wire.read(0.0) == b"", "not yet played"
    played = np.concatenate([library.play(4), library.play(1), library.play(7)])
    assert np.array_equal(played[:, 1], np.tile(loop, 4))
    assert not played[:, 0].any()
    assert [block.data for block in blocks_of(wire)] == [loop.tobytes()]


def test_a_stream_that_ended_is_a_lost_line_once_all_is_read() -> None:
    library = FakeLibrary()
    wire = AudioInput(library, "box", 1, 48_000)
    library.settings["finished_callback"]()
    assert wire.read(0.0) != b""
    with pytest.raises(WireLost, match="has stopped; is it still plugged in"):
        wire.read(0.01)


def test_what_the_library_says_becomes_a_sentence() -> None:
    with pytest.raises(WireLost, match=r"No input device.*its name right.*devices are: USB interface, HDMI"):
        AudioInput(FakeLibrary(ValueError("No input device matching 'box'")), "box", 1, 48_000)


def test_an_input_plays_nothing() -> None:
    wire = AudioInput(FakeLibrary(), "box", 1, 48_000)
    with pytest.raises(WireLost, match="is an input"):
        wire.write(b"x")


def test_it_is_closed_twice_without_a_word() -> None:
    library = FakeLibrary()
    wire = AudioInput(library, "box", 1, 48_000)
    wire.close()
    wire.close()
    assert library.calls == ["start", "abort", "close", "abort", "close"]


def test_without_the_package_everything_else_works_and_it_says_what_to_install(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setitem(sys.modules, "sounddevice", None)
    with pytest.raises(WireLost, match=r"install meterlog\[audio\].*libportaudio2"):
        open_wire("audio:box:in1", Line())


def test_nothing_imports_the_package_before_a_sound_device_is_opened() -> None:
    code = """
import sys
import meterlog.bench, meterlog.cli.main, meterlog_drivers.audio.driver
print("sounddevice" in sys.modules)
"""
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"
