"""The bench file: what it gives; each mistake is found with file, line, field and what would be right."""

import hashlib
from datetime import date
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.bench import Bench, BenchError, check_drivers, doubts_about, load_bench, load_bench_text
from meterlog.bench.bench_model import settings_of
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Line

pytestmark = pytest.mark.usefixtures("plain_driver")

TEXT = """\
[bench]
name = "Two meters"
simulate_url = "http://127.0.0.1:8000/"
[levels]
vu = "+4 dBu"
dbm_ohm = 600
[[meter]]
name = "bench meter"
driver = "plain"
address = "TCPIP::127.0.0.1::5025::SOCKET"
identity = "EXAMPLE"
calibrated = 2026-03-01
[meter.options]
samples = 2
[[meter]]
name = "handheld"
driver = "plain"
address = "/dev/serial/by-id/usb-adapter"
[[channel]]
name = "output"
meter = "bench meter"
function = "voltage"
coupling = "ac"
range = "10 V"
ac_filter = "20 Hz"
show = "VU"
[[channel]]
name = "panel"
meter = "handheld"
function = "resistance"
"""


def bench(text: str = TEXT) -> Bench:
    return load_bench_text(text, "bench.toml")


def test_what_the_file_says_is_what_the_bench_has() -> None:
    found = bench()
    assert found.name == "Two meters"
    assert found.simulate_url == "http://127.0.0.1:8000/"
    assert [channel.name for channel in found.channels] == ["output", "panel"]
    meter = found.meter("bench meter")
    assert (meter.calibrated, meter.identity, meter.serial_number) == (date(2026, 3, 1), "EXAMPLE", "")
    assert found.channels[1].unit is Unit.OHM


def test_levels_of_a_channel_use_the_references_of_the_bench() -> None:
    """+4 dBu = 1.228 V: sqrt(0.6) V times 10^(4/20), ITU-R V.574 with IEC 60027-3."""
    show = bench().channels[0].show
    assert show is not None
    assert show.to_base(0.0) == pytest.approx(1.228, abs=0.0005)


def test_the_driver_is_asked_in_base_units_and_is_told_the_identity() -> None:
    found = bench()
    settings = settings_of(found.meter("bench meter"), [found.channels[0]])
    assert (settings.function, settings.coupling) == ("voltage", Coupling.AC)
    assert (settings.range_max, settings.ac_filter_hz) == (10.0, 20.0)
    assert settings.options == {"samples": 2, "identity": "EXAMPLE"}
    assert settings_of(found.meter("handheld"), [found.channels[1]]).options == {}


def test_the_text_is_kept_exactly_with_its_digest(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    path.write_text(TEXT + "# Ω\n", encoding="utf-8")
    found = load_bench(path)
    assert found.text == TEXT + "# Ω\n"
    assert found.digest == hashlib.sha256(path.read_bytes()).hexdigest()


@pytest.mark.parametrize(
    ("old", "new", "line", "says"),
    [
        ('name = "Two meters"', 'names = "Two"', 2, "bench.names: no such field here"),
        (
            'driver = "plain"',
            'driver = "plane"',
            9,
            "meter.1.driver: no driver 'plane' is installed; .*plain",
        ),
        (
            'address = "/dev',
            'address = "dev',
            18,
            "meter.2.address: 'dev.*' is no address; write a port such as",
        ),
        (
            'meter = "handheld"',
            'meter = "held"',
            29,
            "channel.2.meter: no meter 'held'; meters are bench meter",
        ),
        (
            'name = "handheld"',
            'name = "bench meter"',
            16,
            "meter.2.name: 'bench meter' is the name of another",
        ),
        ('name = "panel"', 'name = "output"', 28, "channel.2.name: 'output' is the name of another channel"),
        (
            'meter = "handheld"',
            'meter = "bench meter"',
            29,
            "'bench meter, display 1' has a channel already; there is one for each display",
        ),
        (
            "[levels]",
            '[laboratory]\ntemperature_channel = "output"\n[levels]',
            5,
            "laboratory.temperature_channel: no channel 'output' with function = 'temperature'",
        ),
        ('range = "10 V"', 'range = "10 Hz"', 24, "channel.1.range: 10 Hz does not fit; .* such as 10 V"),
        ('range = "10 V"', 'range = "10 W"', 24, "channel.1.range: 10 W does not fit"),
        ('range = "10 V"', "range = 10", 24, "channel.1.range: write a text with its unit"),
        ('ac_filter = "20 Hz"', 'ac_filter = "20 V"', 25, "ac_filter: 20 V does not fit; .* such as 20 Hz"),
        ('show = "VU"', 'show = "dBx"', 26, "channel.1.show: 'dBx': unit 'dBx' is not known"),
        ('show = "VU"', 'show = "mA"', 26, "channel.1.show: mA does not show V, which voltage is in"),
        ('vu = "+4 dBu"', 'dbfs = "+4 dBu"', 26, "channel.1.show: 'VU': VU needs its reference"),
        (
            'function = "voltage"',
            'function = "volts"',
            22,
            "channel.1.function: no function 'volts'; functions are",
        ),
        ('coupling = "ac"\n', "", 19, "channel.1: coupling is missing; write dc, ac or acdc"),
        (
            '"resistance"',
            '"resistance"\ncoupling = "dc"',
            27,
            "coupling means nothing for resistance; remove it",
        ),
        ("samples = 2", "samples = [2]", 14, "meter.1.options.samples"),
        ("calibrated = 2026-03-01", 'calibrated = "soon"', 12, "meter.1.calibrated"),
        ("[bench]", "[bench", 1, "no valid TOML"),
    ],
)
def test_a_mistake_is_shown_with_its_place_and_what_would_be_right(
    old: str, new: str, line: int, says: str
) -> None:
    assert old in TEXT
    with pytest.raises(BenchError, match=says) as caught:
        bench(TEXT.replace(old, new, 1))
    assert f"bench.toml:{line}: " in str(caught.value)


def test_all_mistakes_are_shown_at_once_in_the_order_of_the_file() -> None:
    broken = TEXT.replace('show = "VU"', 'show = "dBx"').replace('driver = "plain"', 'driver = "plane"')
    with pytest.raises(BenchError) as caught:
        bench(broken)
    places = [line.split(": ")[:2] for line in str(caught.value).splitlines()]
    assert places == [
        ["bench.toml:9", "meter.1.driver"],
        ["bench.toml:17", "meter.2.driver"],
        ["bench.toml:26", "channel.1.show"],
    ]


def test_one_address_serves_one_meter() -> None:
    twice = TEXT.replace("/dev/serial/by-id/usb-adapter", "TCPIP::127.0.0.1::5025::SOCKET")
    with pytest.raises(BenchError, match=r"bench.toml:18: meter.2.address: .* is another meter's address"):
        bench(twice)


def test_a_meter_that_nothing_is_taken_from_is_pointed_out() -> None:
    with pytest.raises(BenchError, match=r"bench.toml:16: meter.2.name: 'handheld' has no channel"):
        bench(TEXT[: TEXT.rindex("[[channel]]")])


@pytest.mark.parametrize("content", [b"\xff\xfe", None])
def test_a_file_that_cannot_be_read_is_named(tmp_path: Path, content: bytes | None) -> None:
    path = tmp_path / "bench.toml"
    if content is not None:
        path.write_bytes(content)
    with pytest.raises(BenchError, match=r"bench.toml:1: cannot be read"):
        load_bench(path)


@given(st.integers(0, len(TEXT) - 1), st.text(max_size=3))
def test_a_damaged_file_is_refused_with_a_reason_or_read(at: int, damage: str) -> None:
    """Nothing but a BenchError comes out, wherever a slip of the finger falls."""
    try:
        bench(TEXT[:at] + damage + TEXT[at + 1 :])
        complaint = "bench.toml:"
    except BenchError as error:
        complaint = str(error)
    assert complaint.startswith("bench.toml:")


def test_a_line_that_differs_from_the_drivers_is_said_in_the_bench_file() -> None:
    """7 bits, odd parity, 2 stop bits: a framing that hand-held meters of the nineties have."""
    table = '[meter.line]\nbaud = 1200\ndata_bits = 7\nparity = "O"\nstop_bits = 2\nrts = false\n'
    entry = load_bench_text(TEXT.replace("[[channel]]", table + "[[channel]]", 1), "bench.toml").meters[1]
    assert entry.line.over(Line(baud=9600, dtr=True)) == Line(1200, 7, "O", 2, dtr=True, rts=False)


def test_a_dialects_file_is_named_as_seen_from_the_bench_file(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    path.write_text(TEXT.replace("[[meter]]", '[[meter]]\ndialect = "mine.toml"', 1))
    assert load_bench(path).meters[0].dialect == str(tmp_path / "mine.toml")


def test_the_drivers_say_what_is_wrong_with_their_options(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    wrong = TEXT.replace("samples = 2", "sample = 2").replace('driver = "plain"', 'driver = "scpi"', 1)
    path.write_text(wrong)
    with pytest.raises(BenchError, match=r"meter.1.driver: no option sample; the scpi driver knows"):
        check_drivers(load_bench(path), path)


@pytest.mark.parametrize(
    ("driver", "text", "wrong"),
    [
        ("scpi", 'like = "band"\nspeed = 1', ["2: speed: no such field here"]),
        ("scpi", "like = ", ["1: no valid TOML"]),
        ("scpi", 'like = "band"\nspeed = 1\noverload = "big"', ["2: speed: no such", "3: overload: write a"]),
        ("ascii", "[dialect]\nname = 1", ["2: dialect.name: "]),
    ],
)
def test_what_is_wrong_in_a_dialects_file_is_told_at_its_own_lines(
    tmp_path: Path, driver: str, text: str, wrong: list[str]
) -> None:
    """Below the line of the bench file that names it."""
    named = f'[[meter]]\ndialect = "mine.toml"\ndriver = "{driver}"\n'
    path, mine = tmp_path / "bench.toml", tmp_path / "mine.toml"
    path.write_text(TEXT.replace('driver = "plain"\n', "", 1).replace("[[meter]]\n", named, 1))
    mine.write_text(text)
    with pytest.raises(BenchError) as told:
        check_drivers(load_bench(path), path)
    line = path.read_text().splitlines().index('dialect = "mine.toml"') + 1
    first, *others = str(told.value).splitlines()
    assert first == f"{path}:{line}: meter.1.dialect: what mine.toml says of this meter cannot be used:"
    for what in wrong:
        assert any(other.startswith(f"{mine}:{what}") for other in others), others


def test_the_long_name_that_an_adapter_has_by_its_place_is_an_address() -> None:
    """Names under /dev/serial/by-id carry maker, product and serial number; Linux allows 255 characters."""
    path = "/dev/serial/by-id/usb-" + 200 * "x" + "-if00-port0"
    assert (
        load_bench_text(TEXT.replace("/dev/serial/by-id/usb-adapter", path), "b.toml").meters[1].address
        == path
    )


def test_a_day_that_is_still_to_come_is_warned_of(tmp_path: Path) -> None:
    """A year mistyped must make no meter better, and must be seen."""
    file = tmp_path / "bench.toml"
    file.write_text(
        '[bench]\nname = "B"\n[[meter]]\nname = "m"\ndriver = "scpi"\n'
        'address = "TCPIP::127.0.0.1::9::SOCKET"\n'
        'calibrated = 2027-03-01\n[[channel]]\nname = "c"\nmeter = "m"\ncoupling = "ac"\n'
    )
    bench = load_bench(file)
    (found,) = doubts_about(bench, str(file), date(2026, 11, 27))
    assert str(found).startswith(f"{file}:7: meter.1.calibrated: warning: 2027-03-01 is still to come")
    assert not list(doubts_about(bench, str(file), date(2027, 3, 1)))


def test_one_serial_number_of_two_meters_is_warned_of_and_none_at_all_is_not() -> None:
    """A table that was copied, and its number left."""
    meter = '[[meter]]\nname = "{0}"\ndriver = "scpi"\naddress = "TCPIP::127.0.0.1::{1}::SOCKET"\n'
    channel = '[[channel]]\nname = "of {0}"\nmeter = "{0}"\ncoupling = "ac"\n'
    text = '[bench]\nname = "B"\n'
    for port, (name, number) in enumerate({"a": "12", "b": "12", "c": "", "d": ""}.items()):
        text += meter.format(name, port + 1) + f'serial_number = "{number}"\n' + channel.format(name)
    (found,) = doubts_about(load_bench_text(text, "b.toml"), "b.toml", date(2026, 11, 27))
    line = len(text[: text.rindex('"12"')].splitlines())
    assert str(found) == (
        f"b.toml:{line}: meter.2.serial_number: warning: "
        "'12' is the serial number of 'a' too; look at both plates"
    )


@pytest.mark.parametrize("text", ['"yes"', '"true"', "1"])
def test_a_text_or_a_number_is_no_yes(text: str) -> None:
    with pytest.raises(BenchError, match=r"channel\.1\.correct: write true or false without quotes, not "):
        load_bench_text(TEXT.replace("[[channel]]\n", f"[[channel]]\ncorrect = {text}\n", 1), "b.toml")
