"""Every format against its file of frames; the sources stand in the first lines of the files."""

import pytest

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication, State
from tests.drivers.handheld.kinds import FORMATS, FRAMES, decode, with_parity

ROWS = [row for rows in FRAMES.values() for row in rows]
WITHOUT_UNIT = ("", "hfe", "rpm")
"""The core has no unit for current gain and for revolutions."""
DISPLAYS = {"upper": 1, "lower": 2}
STATES = {
    "reading": [State.OK],
    "overload": [State.OVERLOAD],
    "no_value": [State.BLANK, State.INVALID],
}


def _check(row: dict[str, str], shown: Indication) -> None:
    flags = set(row["flags"].split())
    assert shown.state in STATES[row["expect"]]
    assert shown.unit == (Unit.NONE if row["unit"] in WITHOUT_UNIT else Unit(row["unit"]))
    assert shown.function == row["function"]
    assert shown.coupling == Coupling(row["coupling"])
    assert shown.flags == flags - set(DISPLAYS)
    assert shown.display == next((DISPLAYS[flag] for flag in DISPLAYS if flag in flags), 1)
    assert shown.raw == bytes.fromhex(row["hex"])
    if row["range"]:
        assert shown.range_max == float(row["range"])
    if row["expect"] == "reading":
        assert shown.value == float(row["value"])
        assert shown.resolution == float(row["resolution"])


@pytest.mark.parametrize("row", ROWS, ids=lambda row: row["id"])
def test_each_frame(row: dict[str, str]) -> None:
    found = decode(row["format"], bytes.fromhex(row["hex"]))
    if row["expect"] == "reject" or row["id"].startswith("abcd-pub"):
        # What the computer sends, and an acknowledgement: sound frames that show nothing.
        assert found == []
        return
    (shown,) = found
    _check(row, shown)


@pytest.mark.parametrize(
    "row", [row for row in ROWS if row["format"].startswith("es519")], ids=lambda row: row["id"]
)
def test_each_block_with_its_parity(row: dict[str, str]) -> None:
    plain = decode(row["format"], bytes.fromhex(row["hex"]))
    assert decode(row["format"], with_parity(bytes.fromhex(row["hex"]))) == plain


@pytest.mark.parametrize(
    "row", [row for row in ROWS if row["format"] in ("ascii14", "bin11")], ids=lambda row: row["id"]
)
def test_each_frame_of_seven_bits_with_a_stop_bit_for_the_eighth(row: dict[str, str]) -> None:
    plain = decode(row["format"], bytes.fromhex(row["hex"]))
    assert decode(row["format"], bytes(byte | 0x80 for byte in bytes.fromhex(row["hex"]))) == plain


def test_a_blank_display_and_letters_are_told_apart() -> None:
    states = {
        row["id"]: decode("fs9721", bytes.fromhex(row["hex"]))[0].state
        for row in FRAMES["fs9721"]
        if row["expect"] == "no_value"
    }
    assert states == {"fs9721-24": State.BLANK, "fs9721-25": State.INVALID}


@pytest.mark.parametrize("name", FORMATS)
def test_no_frame_passes_for_one_of_another_format(name: str) -> None:
    """Else the kind of a meter could not be told by listening."""
    for row in ROWS:
        if row["format"] != name and row["expect"] == "reading":
            assert decode(name, bytes.fromhex(row["hex"]) * 3) == [], row["id"]
