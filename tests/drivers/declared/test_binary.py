"""Binary frames by description: three formats against their vector files (whose heads name the sources)."""

from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.files import FileError
from meterlog.quantity import Unit
from meterlog.reading import ChecksSettings, ChoosesLine, Coupling, Driver, Indication, Settings, State
from meterlog.testing import FakeClock, FakeWire
from meterlog_drivers.declared.binary import KIND, driver, format_of
from meterlog_drivers.declared.described import find_file
from meterlog_drivers.declared.frame_file import load_frames
from meterlog_drivers.declared.frame_model import FrameTables
from tests.drivers.declared.kit import kept, settings
from tests.drivers.vectors import rows

HERE = Path(__file__).parent
FILES = {
    "abcd_sum16.csv": find_file("ab-cd-sum", KIND),
    "bin11.csv": HERE / "bin11.toml",
    "stx16.csv": HERE / "stx16.toml",
}
# What a description cannot say: that a polarity is 0 or 1 and there are three decimals at most, and which of
# several displays is meant.
BEYOND = {"x16-17", "x16-18"}
UNTOLD = {"upper", "lower"}
ROWS = [(name, row) for name in FILES for row in rows(name) if row["id"] not in BEYOND]
STATES = {"reading": State.OK, "overload": State.OVERLOAD}
GOOD = FILES["abcd_sum16.csv"].read_text(encoding="utf-8")


def read(tables: FrameTables, data: bytes) -> list[Indication]:
    return format_of(tables, "x").decoder().feed(data, 0)


@pytest.mark.parametrize(("name", "row"), ROWS, ids=lambda one: one["id"] if isinstance(one, dict) else "")
def test_each_frame_of_the_vector_files(name: str, row: dict[str, str]) -> None:
    found = read(load_frames(FILES[name]).tables, bytes.fromhex(row["hex"]))
    if row["expect"] in ("reject", "no_value"):
        assert found == []
        return
    (shown,) = found
    assert shown.state is STATES[row["expect"]]
    assert shown.value == (float(row["value"]) if row["value"] else None)
    assert (shown.unit, shown.function) == (Unit(row["unit"]), row["function"])
    assert shown.coupling == Coupling(row["coupling"])
    assert shown.flags == set(row["flags"].split()) - UNTOLD
    if shown.state is State.OK:
        assert shown.resolution == float(row["resolution"])


@pytest.mark.parametrize("name", FILES)
def test_damage_costs_its_frame_alone(name: str) -> None:
    """A byte lost, one doubled, one foreign, at every place; frames with a sum never give another number."""
    tables = load_frames(FILES[name]).tables
    good, other = [bytes.fromhex(row["hex"]) for n, row in ROWS if n == name and row["expect"] == "reading"][
        :2
    ]
    first, last = read(tables, good)[0].value, read(tables, other)[0].value
    for place in range(len(good)):
        for middle in (b"", good[place : place + 1] * 2, good[place : place + 1] + b"\xfe"):
            damaged = good[:place] + middle + good[place + 1 :]
            values = [shown.value for shown in read(tables, good + damaged + other * 2)]
            assert values[0] == first
            assert values[-1] == last
            if tables.frame.sum:
                assert set(values) <= {first, last}


@given(st.lists(st.integers(0, 60), max_size=10), st.binary(max_size=40))
def test_the_result_does_not_depend_on_the_pieces(cuts: list[int], noise: bytes) -> None:
    tables = load_frames(FILES["abcd_sum16.csv"]).tables
    frames = [bytes.fromhex(row["hex"]) for name, row in ROWS if name == "abcd_sum16.csv"][4:7]
    data = noise + b"".join(frames)
    decoder, found, start = format_of(tables, "x").decoder(), list[Indication](), 0
    for cut in [*sorted(cuts), len(data)]:
        found += decoder.feed(data[start:cut], 0)
        start = cut
    assert found == read(tables, data)


@pytest.mark.parametrize(
    ("frame", "rules"),
    [
        # 55 55, control, length, data, sum of all bytes without carry: printed in a maker's protocol note.
        ("55 55 00 00 AA", "start = [0x55, 0x55]\n[frame.counted]\nbyte = 3\nmore = 5\n{}[frame.sum]\n"),
        ("55 55 13 00 BD", "start = [0x55, 0x55]\n[frame.counted]\nbyte = 3\nmore = 5\n{}[frame.sum]\n"),
    ],
)
def test_a_printed_sum(frame: str, rules: str, tmp_path: Path) -> None:
    text = rules.format("known = [0]\nreading = 0\n")
    value = '[value]\nkind = "whole"\nbyte = 2\nbytes = 1\n[function]\nbyte = 3\n[functions]\n00 = "V dc"\n'
    tables = load_frames(
        Path(kept(tmp_path, f'[dialect]\nname = "x"\nsource = "x"\n[frame]\n{text}{value}'))
    ).tables
    data = bytes.fromhex(frame)
    assert [shown.value for shown in read(tables, data)] == [data[2]]
    assert read(tables, data[:-1] + bytes([data[-1] ^ 1])) == []


@pytest.mark.parametrize(
    ("old", "new", "told"),
    [
        (
            "[frame.counted]\nbyte = 2",
            "[frame.counted]\nbyte = 300",
            "frame.counted.byte: must be at most 255",
        ),
        ("reading = 16\n", "reading = 17\n", "frame.counted.reading: is not among the known"),
        ("start = [0xAB, 0xCD]", "length = 19", "how long is a frame"),
        ("bytes = 7", "bytes = 15", "value.byte: lies beyond the frame of a reading, which has 19 bytes"),
        ("[function]\nbyte = 3\n", "", r"functions: where does the code stand\? Write \[function\]"),
        ("rel = [14, 0]", "relative = [14, 0]", "flags.relative.*: must be one of 'minus'"),
        ('kind = "text"', 'kind = "words"', "value.kind: must be one of 'text'"),
    ],
)
def test_a_mistake_is_told_where_it_stands(old: str, new: str, told: str, tmp_path: Path) -> None:
    assert old in GOOD
    path = kept(tmp_path, GOOD.replace(old, new))
    with pytest.raises(FileError, match=told) as refused:
        load_frames(Path(path))
    assert str(refused.value).startswith(f"{path}:")
    with pytest.raises(ValueError, match=told):
        driver.check(settings(path))


def test_a_meter_that_is_asked_is_read() -> None:
    """Row abcd-01: 12.280 V DC."""
    checked: Driver = driver
    assert isinstance(checked, ChecksSettings)
    assert isinstance(checked, ChoosesLine)
    answer = next(bytes.fromhex(row["hex"]) for _, row in ROWS if row["id"] == "abcd-01")
    clock = FakeClock()
    wire = FakeWire(clock, lambda question: [(0.1, answer)] if question[2] == 3 else ())
    meter = checked.connect(wire, settings("ab-cd-sum"), clock)
    assert meter.identity.text.startswith("AB CD, length, sum (dialect ")
    assert [shown.value for shown in meter.poll(1.0)] == [12.28]
    with pytest.raises(ValueError, match=r"dialect is missing.*ab-cd-sum"):
        checked.check(Settings())
