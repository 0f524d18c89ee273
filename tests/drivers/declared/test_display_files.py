"""Maps of displays: what is wrong is told with file, line and field; settings; a map over a real port."""

from pathlib import Path

import pytest

from meterlog.files import FileError
from meterlog.reading import ChecksSettings, ChoosesLine, Coupling, Driver, Garbled, Settings, Unanswered
from meterlog.testing import PATIENCE_S, Chunks, FakeClock, FakeWire, Terminal, Witness
from meterlog_drivers.declared.display_file import load_display
from meterlog_drivers.declared.segments import driver
from tests.drivers.declared.kit import kept, settings
from tests.drivers.declared.test_on_a_port import link_to
from tests.drivers.vectors import FOLDER

PATH = str(FOLDER / "lcd_demo15.toml")
TEXT = Path(PATH).read_text(encoding="utf-8")
FRAME = bytes.fromhex("12 21 30 4C 50 63 76 85 98 A1 B9 C7 D8 E0 F9")  # lcd-01: 1.234 V DC


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        ("length = 15", "", "frame.length: missing"),
        ("index = true", "index = false", "frame: what does a frame begin with.*start = "),
        ("length = 15", "length = 16", "frame.length: an index nibble counts to 15"),
        ("a = [14, 1]", "a = [15, 1]", "digit.1.a: byte 15 is not in a frame of 15"),
        ("a = [14, 1]", "a = [14, 5]", "digit.1.a: bits 4 to 7 are the index"),
        ("a = [14, 1]", "a = [14, 8]", "digit.1.a.*: must be at most 7"),
        ("a = [14, 1]", "", "digit.1.a: missing"),
        ("a = [14, 1]", "a = [11, 2]", r"digit.1.b: \[11, 2\] is digit.1.a already"),
        ("minus = ", "sign = ", "annunciators.sign.*: must be one of 'minus', 'dc'"),
        ("[annunciators]", '[characters]\n6 = ["cdefx"]\n[annunciators]', "of the segments that are lit"),
    ],
)
def test_a_mistake_is_told_where_it_stands(old: str, new: str, told: str, tmp_path: Path) -> None:
    assert old in TEXT
    path = kept(tmp_path, TEXT.replace(old, new, 1))
    with pytest.raises(FileError, match=told) as refused:
        load_display(Path(path))
    assert str(refused.value).startswith(f"{path}:")
    with pytest.raises(ValueError, match=told):
        driver.check(settings(path))


@pytest.mark.parametrize(
    ("wanted", "told"),
    [
        (Settings(), "dialect is missing.*fs9721-display"),
        (settings(PATH, "power", Coupling.NONE), 'no function "power"; this meter has capacitance'),
        (settings(PATH, range_max=1.0), "knob"),
        (settings(PATH, options={"speed": 1}), "no option speed"),
    ],
)
def test_settings_that_cannot_be(wanted: Settings, told: str) -> None:
    with pytest.raises(ValueError, match=told):
        driver.check(wanted)


def test_what_the_driver_can() -> None:
    checked: Driver = driver
    assert isinstance(checked, ChecksSettings)
    assert isinstance(checked, ChoosesLine)
    line = checked.line_for(settings("fs9721-display"))
    assert (str(line), line.dtr, line.rts) == ("2400 baud 8N1", True, False)


def test_another_way_to_draw_is_known_by_the_file(tmp_path: Path) -> None:
    """A 6 without its top, in the leftmost digit: bit a is [14, 1]."""
    six = bytes([*FRAME])
    for byte, bit, lit in ((14, 1, 0), (11, 2, 0), (10, 3, 1), (12, 2, 1), (12, 1, 1), (2, 1, 1), (4, 0, 1)):
        value = six[byte] & ~(1 << bit) | lit << bit
        six = six[:byte] + bytes([value]) + six[byte + 1 :]
    assert polled(PATH, [(0.1, FRAME + six)]) == [1.234]
    drawn = kept(tmp_path, TEXT + '\n[characters]\n6 = ["cdefg"]\n')
    assert polled(drawn, [(0.1, FRAME + six)]) == [1.234, 6.234]


def polled(path: str, chunks: Chunks) -> list[float | None]:
    clock = FakeClock()
    wire = FakeWire(clock)
    wire.send(chunks)
    meter = driver.connect(wire, settings(path), clock)
    assert meter.identity.text.startswith("invented display (dialect ")
    return [shown.value for shown in meter.poll(1.0)]


def test_silence_and_nonsense_have_their_own_words() -> None:
    with pytest.raises(Unanswered, match="is the meter on"):
        polled(PATH, [])
    with pytest.raises(Garbled, match=r"wrong speed or format.*2400 baud 8N1"):
        polled(PATH, [(0.1, b"\x80" * 60)])


@pytest.mark.wire
def test_over_a_real_port(tmp_path: Path) -> None:
    witness = Witness()
    with Terminal(tmp_path / "adapter") as terminal:
        link = link_to(terminal.path, driver, PATH, witness)
        link.start()
        with terminal.talking(FRAME[7:] + FRAME + FRAME[:7]):
            witness.wait_for_readings(3)
        assert link.stop(PATIENCE_S)
    assert {(one.value, one.unit, one.coupling) for one in witness.readings} == {(1.234, "V", "dc")}
