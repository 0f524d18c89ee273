"""What every driver of a hand-held meter says about itself, refuses, and recognises."""

from pathlib import Path

import pytest

from meterlog.reading import (
    ChecksSettings,
    ChoosesLine,
    Coupling,
    Driver,
    Garbled,
    Recognises,
    Settings,
    State,
    Unanswered,
    Wanted,
    WrongMeter,
)
from meterlog.testing import FakeClock, FakeWire
from meterlog_drivers.handheld.driver import Handheld
from tests.drivers.handheld.kinds import DRIVERS, FORMATS, FRAMES, decode, frame, sound, with_parity
from tests.drivers.handheld.test_asked import AskedWire

TALKING = sorted(name for name in FORMATS if not FORMATS[name].question)


@pytest.mark.parametrize("driver", DRIVERS.values(), ids=DRIVERS)
def test_it_has_every_ability_of_such_a_driver(driver: Handheld) -> None:
    plain: Driver = driver
    assert isinstance(plain, ChecksSettings)
    assert isinstance(plain, ChoosesLine)
    assert isinstance(plain, Recognises)
    assert plain.line == plain.line_for(Settings())


# Speeds and framing: the sources of each format. 7-bit formats are opened as 8N1 on purpose.
LINES = {
    "fs9721": 2400, "fs9922": 2400, "es51922": 19200, "es519-11": 2400, "ascii14": 1200, "stx16": 9600,
    "bin11": 9600, "abcd-sum16": 9600,
}  # fmt: skip


@pytest.mark.parametrize("name", LINES)
def test_the_line(name: str) -> None:
    line = DRIVERS[name].line
    assert (line.baud, line.data_bits, line.parity, line.stop_bits) == (LINES[name], 8, "N", 1)
    assert line.rts is not True, "an optical lead is fed from DTR against RTS"


@pytest.mark.parametrize("driver", DRIVERS.values(), ids=DRIVERS)
@pytest.mark.parametrize(
    ("settings", "text"),
    [
        (Settings(range_max=10.0), "knob"),
        (Settings(ac_filter_hz=20.0), "knob"),
        (Settings(function="loudness"), 'no function "loudness"'),
        (Settings(options={"speed": 3}), "no option speed"),
        (Settings(dialect="/bench/mine.toml"), "no dialect"),
    ],
)
def test_what_cannot_be_is_refused(driver: Handheld, settings: Settings, text: str) -> None:
    driver.check(Settings())
    with pytest.raises(ValueError, match=text):
        driver.check(settings)


def test_a_second_display_only_where_there_is_one() -> None:
    both = Settings(coupling=Coupling.DC, second=Wanted("temperature"))
    DRIVERS["stx16"].check(both)
    with pytest.raises(ValueError, match="one display only"):
        DRIVERS["fs9922"].check(both)
    with pytest.raises(ValueError, match="one display only"):
        DRIVERS["fs9922"].check(Settings(displays=(2,)))
    DRIVERS["stx16"].check(Settings("temperature", displays=(2,)))
    with pytest.raises(ValueError, match="4 displays only"):
        DRIVERS["stx16"].check(Settings(displays=(5,)))
    with pytest.raises(ValueError, match='no function "loudness"'):
        DRIVERS["stx16"].check(Settings(second=Wanted("loudness")))


@pytest.mark.parametrize("name", TALKING)
def test_the_first_frame_identifies_and_is_not_lost(name: str) -> None:
    good = sound(name)[0]
    clock = FakeClock()
    wire = FakeWire(clock)
    wire.send([(0.4, good[:5]), (0.03, good[5:])])
    meter = DRIVERS[name].connect(wire, Settings(), clock)
    assert meter.identity.text == f"{name} frames"
    (shown,) = meter.poll(1.0)
    assert (shown.raw, shown.monotonic_ns) == (good, 1_400_000_000)


@pytest.mark.parametrize("name", TALKING)
def test_silence_and_nonsense_have_their_own_words(name: str) -> None:
    clock = FakeClock()
    with pytest.raises(Unanswered, match=r"nothing came within 5 s: is the \w+ on"):
        DRIVERS[name].connect(FakeWire(clock), Settings(), clock)
    wire = FakeWire(clock)
    wire.send([(0.1, b"\x80" * 30)])
    with pytest.raises(Garbled, match=f"wrong speed or format.*{LINES[name]} baud"):
        DRIVERS[name].connect(wire, Settings(), clock)


@pytest.mark.parametrize("name", FORMATS)
def test_an_identity_that_no_such_meter_has_is_refused(name: str) -> None:
    clock = FakeClock()
    with pytest.raises(WrongMeter, match="remove identity"):
        DRIVERS[name].connect(FakeWire(clock), Settings(options={"identity": "blue meter"}), clock)


def test_each_display_of_stx16_has_its_number() -> None:
    found = decode("stx16", frame("x16-01") + frame("x16-15"))
    assert [(shown.display, shown.value, shown.unit) for shown in found] == [
        (1, 1.234, "V"),
        (2, 23.5, "degC"),
    ]


@pytest.mark.parametrize("driver", DRIVERS.values(), ids=DRIVERS)
def test_its_own_frames_are_recognised_and_no_others(driver: Handheld) -> None:
    usual = driver.probes()[0]
    assert usual.dialect == ""
    assert usual.line == driver.line
    for name in FORMATS:
        heard = b"\x00\x37" + b"".join(sound(name)[:3])
        found = usual.recognise(heard)
        assert (found is not None) == (name == driver.name), name
        if found:
            assert found.text == f"{driver.name} frames"


@pytest.mark.parametrize("driver", DRIVERS.values(), ids=DRIVERS)
@pytest.mark.parametrize("heard", [b"", b"\x00" * 500, b"ACME,M1,123,1.0\n", bytes(range(256)) * 4])
def test_nothing_and_nonsense_are_nobody(driver: Handheld, heard: bytes) -> None:
    assert [probe.recognise(heard) for probe in driver.probes()] == [None] * len(driver.probes())


def test_a_probe_for_each_line_and_question_and_none_that_cannot_tell() -> None:
    probes = {name: driver.probes() for name, driver in DRIVERS.items()}
    assert [probe.dialect for probe in probes["es519-11"]] == ["", "6000"]
    assert [(probe.line.baud, probe.question) for probe in probes["ascii14"]] == [
        (1200, b"D"),
        (1200, b"D\r"),
        (600, b"D"),
        (600, b"D\r"),
    ]
    assert all(probe.listen_s >= 0.9 for own in probes.values() for probe in own)


# Dialects of es519-11. Bits: data sheets ES51960 page 16 and ES51961 page 19; blocks assembled from them.
def _block(dialect: str, data: bytes) -> tuple[State, float | None, Coupling, frozenset[str]]:
    wire = FakeWire(clock := FakeClock())
    wire.send([(0.1, with_parity(data))])
    (shown,) = DRIVERS["es519-11"].connect(wire, Settings(dialect=dialect), clock).poll(1.0)
    return shown.state, shown.value, shown.coupling, shown.flags


def test_the_older_relative_has_its_bits_elsewhere() -> None:
    minus_dc_auto = b"\x31\x31\x32\x33\x34\x3b\x38\x30\x3c\r\n"
    assert _block("es51960", minus_dc_auto) == (State.OK, -1.234, Coupling.DC, frozenset({"auto"}))
    ac_manual = b"\x31\x31\x32\x33\x34\x3b\x30\x30\x32\r\n"
    assert _block("es51960", ac_manual) == (State.OK, 1.234, Coupling.AC, frozenset({"manual"}))


def test_chips_with_an_unknown_table_give_no_number() -> None:
    state, value, coupling, _ = _block("6000", frame("es11-01"))
    assert (state, value, coupling) == (State.INVALID, None, Coupling.DC)
    assert _block("6000", frame("es11-05"))[0] is State.OVERLOAD
    assert DRIVERS["es519-11"].line_for(Settings(dialect="6000")).baud == 19200


@pytest.mark.parametrize(
    ("function", "name"),
    [(0x3D, "microamperes"), (0x3F, "amperes"), (0x31, "diode")],
    ids=str,
)
def test_a_range_that_is_not_known_gives_no_number(function: int, name: str) -> None:
    state, value, _, _ = _block(
        "", bytes([0x30, 0x31, 0x32, 0x33, 0x34, function, 0x30, 0x30, 0x38]) + b"\r\n"
    )
    assert (state, value) == (State.INVALID, None), name


# ES51922: what the transcribed data sheet gives beyond the vectors. Blocks assembled from it.
ES51922 = {
    "underload": ("31 31 32 33 34 35 3B 30 30 38 3A 30 0D 0A", State.UNDERLOAD, None),
    "duty": ("30 30 35 30 30 30 32 30 30 30 30 30 0D 0A", State.INVALID, None),
    "temperature": ("30 30 32 33 35 30 34 38 30 30 30 30 0D 0A", State.INVALID, None),
    "adapter": ("30 30 32 33 35 30 3E 30 30 30 30 30 0D 0A", State.INVALID, None),
    "shunt outside": ("30 31 30 30 30 30 3D 30 30 30 38 34 0D 0A", State.OK, 100.0),
    "hertz beside volts": ("31 31 32 33 34 35 3B 30 30 30 35 30 0D 0A", State.INVALID, None),
}


@pytest.mark.parametrize("name", ES51922)
def test_what_the_chip_shows_beside_the_usual(name: str) -> None:
    block, state, value = ES51922[name]
    (shown,) = decode("es51922", bytes.fromhex(block))
    assert (shown.state, shown.value) == (state, value)


@pytest.mark.parametrize("byte", [0x3C, 0x3D, 0x3E])
def test_both_couplings_at_once_are_refused(byte: int) -> None:
    assert (
        len(decode("es51922", bytes.fromhex("31 31 32 33 34 35 3B 30 30 30") + bytes([byte]) + b"0\r\n")) == 0
    )


def test_there_is_no_format_without_frames() -> None:
    assert all(FRAMES.values())


@pytest.mark.parametrize("driver", DRIVERS.values(), ids=DRIVERS)
def test_the_document_tells_of_each_driver_and_dialect(driver: Handheld) -> None:
    text = (Path(__file__).parents[3] / "docs" / "handhelds.md").read_text(encoding="utf-8")
    named = [driver.name, *(f'"{dialect}"' for dialect in driver._formats if dialect)]
    assert [word for word in named if f"`{word}`" not in text] == []


def test_probing_sends_only_questions() -> None:
    """abcd-pub-1 and the letter D ask for a reading; no key is pressed from afar."""
    assert {probe.question for driver in DRIVERS.values() for probe in driver.probes()} == {
        b"",
        b"D",
        b"D\r",
        frame("abcd-pub-1"),
    }


def test_an_asked_meter_is_recognised_by_its_answer() -> None:
    clock = FakeClock()
    wire = AskedWire(clock, lambda question: [(0.2, frame("a14-01"))])
    wire.write(b"D")
    probe = DRIVERS["ascii14"].probes()[0]
    assert probe.recognise(wire.read(probe.listen_s)) is not None
