"""The entry for the bench file, and the way into the file. Instruments and files are invented."""

import stat
import tomllib
from dataclasses import replace
from pathlib import Path

import pytest

from meterlog.bench import BenchError, load_bench, load_bench_text
from meterlog.bench.find import (
    Finding,
    Match,
    Taken,
    Wish,
    add_entry,
    differing,
    entry_for,
    entry_text,
    names_in,
)
from meterlog.bench.find.bench_writing import appended
from meterlog.quantity import Unit
from meterlog.reading import Coupling, Identity, Indication, Line, State
from tests.bench.find.kit import FAST, SLOW, Knowing, talks
from tests.bench.kit import volts

SCPI = Match(
    "scpi",
    "",
    None,
    Identity("Maker", "M-65", "0", "1", "Maker,M-65,0,1"),
    talks=False,
)
TALKER = Match("fs9721", "", Line(2400), Identity(text="fs9721 frames"), talks=True)
ADDRESS = "TCPIP::192.0.2.7::5025::SOCKET"
BENCH = """# my bench: \N{GREEK SMALL LETTER OMEGA}
[bench]
name = "Bench"   # by the window

[[meter]]
name = "M-65"
driver = "scpi"
address = "TCPIP::192.0.2.1::5025::SOCKET"

[[channel]]
name = "output"
meter = "M-65"
coupling = "ac"
"""


def found(match: Match = SCPI, *shows: Indication, address: str = ADDRESS) -> Finding:
    return Finding(address, (match,), shows)


def sound(text: str) -> dict[str, object]:
    """The entry alone makes a bench file together with a head."""
    load_bench_text('[bench]\nname = "b"\n' + text, "x")
    return tomllib.loads(text)


def test_an_instrument_that_says_its_name_is_held_to_it() -> None:
    entry = entry_for(found(), SCPI, line={})
    assert sound(entry_text(entry)) == {
        "meter": [{"name": "M-65", "driver": "scpi", "address": ADDRESS, "identity": "M-65"}],
        "channel": [{"name": "M-65", "meter": "M-65", "function": "voltage", "coupling": "ac"}],
    }


def test_a_meter_that_only_sends_frames_is_named_after_them() -> None:
    shows = volts(1.5, function="voltage")
    entry = entry_for(found(TALKER, shows, address="/dev/ttyUSB0"), TALKER, line={})
    assert entry.identity == ""
    assert entry.channels[0].coupling is Coupling.DC
    sound(entry_text(entry))


def test_each_display_gets_a_channel() -> None:
    shows = [
        Indication(
            monotonic_ns=0, value=1.0, unit=Unit.VOLT, state=State.OK, coupling=Coupling.AC, display=1
        ),
        Indication(monotonic_ns=0, value=1e3, unit=Unit.HERTZ, state=State.OK, display=2),
    ]
    entry = entry_for(found(TALKER, *shows), TALKER, line={}, wish=Wish(channel="level"))
    assert [(one.name, one.function, one.display) for one in entry.channels] == [
        ("level", "voltage", 1),
        ("level, display 2", "frequency", 2),
    ]
    sound(entry_text(entry))


def test_what_the_knob_stands_on_by_chance_is_not_kept() -> None:
    shows = Indication(monotonic_ns=0, value=None, unit=Unit.VOLT, state=State.OVERLOAD, function="diode")
    entry = entry_for(found(TALKER, shows), TALKER, line={})
    assert (entry.channels[0].function, entry.channels[0].coupling) == ("voltage", Coupling.AC)


def test_wishes_count_more_than_what_was_seen() -> None:
    wish = Wish("my meter", "panel", "resistance", "dc")
    entry = entry_for(found(TALKER, volts(1.5)), TALKER, line={}, wish=wish)
    assert entry.name == "my meter"
    [channel] = entry.channels
    assert (channel.name, channel.function, channel.coupling) == ("panel", "resistance", Coupling.NONE)
    sound(entry_text(entry))


def test_names_that_are_taken_are_numbered() -> None:
    taken = Taken(["M-65", "M-65 2"], ["M-65 3"])
    entry = entry_for(found(), SCPI, line={}, taken=taken)
    assert (entry.name, entry.channels[0].name) == ("M-65 3", "M-65 3 2")
    more = taken.with_those_of([entry])
    assert entry_for(found(), SCPI, line={}, taken=more).name == "M-65 4"


def test_what_an_instrument_says_cannot_break_the_file() -> None:
    bad = Identity('Ma"ker', 'M\\-"65\x7f', "17", "1", 'Ma"ker,M\\-"65\x7f,17,1')
    entry = entry_for(found(replace(SCPI, identity=bad)), replace(SCPI, identity=bad), line={})
    assert tomllib.loads(entry_text(entry))["meter"][0]["name"] == 'M\\-"65\x7f'


def test_a_line_that_the_driver_would_open_otherwise_is_written_down() -> None:
    knowing = Knowing([talks(b"a", SLOW), talks(b"b", FAST)])
    match = replace(TALKER, line=FAST)
    line = differing(knowing, match)
    assert line == {"baud": 19200, "dtr": True}
    text = entry_text(entry_for(found(match, address="/dev/ttyUSB0"), match, line=line))
    assert sound(text)["meter"][0]["line"] == line  # type: ignore[index]
    assert differing(knowing, replace(TALKER, line=SLOW)) == {}
    assert differing(knowing, SCPI) == {}


def write(path: Path, match: Match = SCPI, address: str = ADDRESS, **wish: str) -> None:
    entry = entry_for(found(match, address=address), match, line={}, wish=Wish(**wish), taken=names_in(path))
    add_entry(path, entry)


def test_a_new_file_is_a_bench(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    write(path, channel="output")
    bench = load_bench(path)
    assert [channel.name for channel in bench.channels] == ["output"]
    assert [file.name for file in tmp_path.iterdir()] == ["bench.toml"], "no draft is left"


def test_nothing_that_was_there_is_lost(tmp_path: Path) -> None:
    path = tmp_path / "bench.toml"
    path.write_text(BENCH.rstrip("\n"), encoding="utf-8")
    path.chmod(0o640)
    write(path)
    after = path.read_text(encoding="utf-8")
    assert after.startswith(BENCH)
    assert [meter.name for meter in load_bench(path).meters] == ["M-65", "M-65 2"]
    assert stat.S_IMODE(path.stat().st_mode) == 0o640


def test_a_link_to_the_file_stays_one(tmp_path: Path) -> None:
    (tmp_path / "real.toml").write_text(BENCH, encoding="utf-8")
    link = tmp_path / "bench.toml"
    link.symlink_to("real.toml")
    write(link)
    assert link.readlink() == Path("real.toml")
    assert len(load_bench(tmp_path / "real.toml").meters) == 2


def test_line_ends_stay_what_they_are() -> None:
    assert appended(b"\xef\xbb\xbfa = 1\r\n", "b = 2\n") == b"\xef\xbb\xbfa = 1\r\n\r\nb = 2\r\n"
    assert appended(b"a = 1", "b = 2\n") == b"a = 1\n\nb = 2\n"


@pytest.mark.parametrize(
    ("spoilt", "wish", "says"),
    [
        ("", {"name": "M-65"}, "is the name of another meter"),
        ("", {"channel": "output"}, "is the name of another channel"),
        ("x = ", {}, "no valid TOML"),
        ("[[meter]]\nname = 1\n", {}, "bench.toml:"),
    ],
)
def test_a_file_that_would_not_be_sound_is_left_alone(
    tmp_path: Path, spoilt: str, wish: dict[str, str], says: str
) -> None:
    path = tmp_path / "bench.toml"
    path.write_text(BENCH + spoilt, encoding="utf-8")
    with pytest.raises(BenchError, match=says) as refused:
        write(path, **wish)
    assert "nothing was written" in str(refused.value)
    assert ".new" not in str(refused.value)
    assert path.read_text(encoding="utf-8") == BENCH + spoilt
    assert [file.name for file in tmp_path.iterdir()] == ["bench.toml"]


def test_the_same_port_under_another_name_is_refused(tmp_path: Path) -> None:
    port, link = tmp_path / "ttyUSB0", tmp_path / "by-id"
    port.touch()
    link.symlink_to(port)
    path = tmp_path / "bench.toml"
    write(path, TALKER, str(port))
    with pytest.raises(BenchError, match=r"“fs9721” is at .*ttyUSB0 already, which is the same line as"):
        write(path, TALKER, str(link))


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    with pytest.raises(BenchError, match="cannot be written"):
        write(tmp_path / "absent" / "bench.toml")


def test_a_file_that_another_program_changed_meanwhile_is_left_alone(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    path = tmp_path / "bench.toml"
    path.write_text(BENCH, encoding="utf-8")
    other = BENCH + "# changed\n"
    monkeypatch.setattr(
        "meterlog.bench.find.bench_writing._insist_on_sound", lambda *_: path.write_text(other, "utf-8")
    )
    with pytest.raises(BenchError, match="changed by another program"):
        write(path)
    assert path.read_text(encoding="utf-8") == other
