"""Pictures of displays: the invented map on its frames, the FS9721_LP3 chip as a map beside its driver."""

import json
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication, State
from meterlog_drivers.declared.described import find_file
from meterlog_drivers.declared.display_file import load_display
from meterlog_drivers.declared.display_model import DisplayTables
from meterlog_drivers.declared.segments import KIND, format_of
from meterlog_drivers.handheld import fs9721
from tests.drivers.vectors import FOLDER, rows

INVENTED = load_display(FOLDER / "lcd_demo15.toml").tables
CHIP = load_display(find_file("fs9721-display", KIND)).tables
FRAMES = rows("lcd_demo15.csv")
STATES = {"reading": State.OK, "overload": State.OVERLOAD}


def read(tables: DisplayTables, data: bytes) -> list[Indication]:
    return format_of(tables, "x").decoder().feed(data, 0)


def by_the_driver(data: bytes) -> list[Indication]:
    return fs9721.FORMAT.decoder().feed(data, 0)


@pytest.mark.parametrize("row", [row for row in FRAMES if row["expect"] != "reject"], ids=lambda r: r["id"])
def test_each_frame_of_the_invented_display(row: dict[str, str]) -> None:
    (shown,) = read(INVENTED, bytes.fromhex(row["hex"]))
    assert shown.state is STATES[row["expect"]]
    assert shown.value == (float(row["value"]) if row["value"] else None)
    assert (shown.unit, shown.function) == (Unit(row["unit"]), row["function"])
    assert shown.coupling == Coupling(row["coupling"])
    assert shown.flags == set(row["flags"].split())
    assert shown.resolution == float(row["resolution"] or 0)


@pytest.mark.parametrize("row", [row for row in FRAMES if row["expect"] == "reject"], ids=lambda r: r["id"])
def test_what_no_display_can_show_is_nothing(row: dict[str, str]) -> None:
    assert read(INVENTED, bytes.fromhex(row["hex"])) == []


@pytest.mark.parametrize("row", rows("fs9721.csv"), ids=lambda row: row["id"])
def test_the_chip_as_a_map_reads_what_its_driver_reads(row: dict[str, str]) -> None:
    data = bytes.fromhex(row["hex"])
    assert read(CHIP, data) == by_the_driver(data)
    assert bool(by_the_driver(data)) == (row["expect"] != "reject")


@pytest.mark.parametrize("row", rows("fs9721_streams.csv"), ids=lambda row: row["id"])
def test_so_it_does_on_streams_with_faults(row: dict[str, str]) -> None:
    data = bytes.fromhex(row["hex"])
    assert read(CHIP, data) == by_the_driver(data)
    assert len(read(CHIP, data)) >= len(json.loads(row["must_emit"]))


@given(st.lists(st.integers(0, 15), min_size=14, max_size=14))
def test_so_it_does_on_any_picture(nibbles: list[int]) -> None:
    data = bytes(place << 4 | nibble for place, nibble in enumerate(nibbles, start=1))
    assert read(CHIP, data) == by_the_driver(data)


@given(st.lists(st.sampled_from([15 * n for n in range(9)]), max_size=20), st.binary(max_size=60))
def test_the_result_does_not_depend_on_the_pieces(cuts: list[int], noise: bytes) -> None:
    data = noise + b"".join(bytes.fromhex(row["hex"]) for row in FRAMES[:6])
    decoder, found, start = format_of(INVENTED, "x").decoder(), list[Indication](), 0
    for cut in [*sorted(cuts), len(data)]:
        found += decoder.feed(data[start:cut], 0)
        start = cut
    assert found == read(INVENTED, data)
    # A foreign byte that could be the first of the first frame makes that one doubtful; see framing.Window.
    assert len(found) >= 5


@given(st.integers(0, 14), st.integers(0, 255))
def test_a_mutated_byte_gives_another_picture_or_none(place: int, byte: int) -> None:
    """Without a sum a flipped bit cannot always be seen; the frames before and after are not touched."""
    good = bytes.fromhex(FRAMES[0]["hex"])
    damaged = good[:place] + bytes([byte]) + good[place + 1 :]
    values = [shown.value for shown in read(INVENTED, good + damaged + good * 2)]
    assert values[0] == values[-1] == 1.234
    assert values.count(1.234) >= 2


def test_a_frame_that_begins_with_fixed_bytes(tmp_path: Path) -> None:
    text = (FOLDER / "lcd_demo15.toml").read_text().replace("index = true", "start = [0xAA, 0x55]")
    shifted = text.replace("length = 15", "length = 17")
    for byte in range(14, -1, -1):
        shifted = shifted.replace(f"[{byte}, ", f"[{byte + 2}, ")
    path = tmp_path / "map.toml"
    path.write_text(shifted)
    tables = load_display(path).tables
    frame = b"\xaa\x55" + bytes.fromhex(FRAMES[0]["hex"])
    decoder = format_of(tables, "x").decoder()
    found = decoder.feed(frame[5:] + frame + b"\xaa" + frame + frame[:9], 0)
    assert [shown.value for shown in found] == [1.234, 1.234]
