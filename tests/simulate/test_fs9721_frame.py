"""Frames against the published example and the table-built rows of tests/drivers/vectors/fs9721.csv.

Sources of the rows stand at that file's head; this test goes the other way, from display to bytes.
"""

import csv
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.simulate.fs9721_frame import ANNUNCIATORS, BLANK, OVERLOAD, SEGMENTS, encode

VECTORS = Path(__file__).parents[1] / "drivers" / "vectors" / "fs9721.csv"
PREFIXES = {1e-9: "nano", 1e-6: "micro", 1e-3: "milli", 1.0: "", 1e3: "kilo", 1e6: "mega"}
UNITS = {"V": "volt", "A": "ampere", "ohm": "ohm", "F": "farad", "Hz": "hertz", "%": "percent"}
FLAGS = {"auto": "auto", "hold": "hold", "rel": "relative", "lowbatt": "low battery"}
FUNCTIONS = {"continuity": "beep", "diode": "diode"}


def _rows() -> list[dict[str, str]]:
    lines = VECTORS.read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


READINGS = [row for row in _rows() if row["expect"] == "reading"]


def _prefix(row: dict[str, str]) -> str:
    shown, value = float(row["display"]), float(row["value"])
    return PREFIXES[min(PREFIXES, key=lambda factor: abs(shown * factor - value))] if value else ""


def _annunciators(row: dict[str, str]) -> set[str]:
    lit = {FLAGS[flag] for flag in row["flags"].split()}
    lit |= {row["coupling"], _prefix(row), UNITS.get(row["unit"], ""), FUNCTIONS.get(row["function"], "")}
    return lit - {""}


@pytest.mark.parametrize("row", READINGS, ids=lambda row: row["id"])
def test_every_reading_of_the_vectors_encodes_to_its_bytes(row: dict[str, str]) -> None:
    lit = _annunciators(row)
    if row["origin"] == "published":
        lit.add("user 0")  # lit in the example, meaning not published
    if row["unit"] == "V" and row["resolution"] == "0.0001":
        lit.add("milli")
    assert encode(row["display"], lit).hex(" ").upper() == row["hex"]


def test_overload_and_blank_as_in_the_vectors() -> None:
    rows = {row["id"]: row["hex"] for row in _rows()}
    ohms = {"auto", "mega", "ohm"}
    assert encode(OVERLOAD, ohms).hex(" ").upper() == rows["fs9721-22"]
    assert encode(BLANK, {"dc", "volt"}).hex(" ").upper() == rows["fs9721-24"]


@given(
    digits=st.text(alphabet=sorted(SEGMENTS), min_size=4, max_size=4),
    minus=st.booleans(),
    point=st.integers(0, 3),
    lit=st.sets(st.sampled_from(sorted(ANNUNCIATORS))),
)
def test_frame_can_be_read_back(digits: str, minus: bool, point: int, lit: set[str]) -> None:
    display = ("-" if minus else "") + (digits[:point] + "." + digits[point:] if point else digits)
    frame = encode(display, lit)
    assert [byte >> 4 for byte in frame] == list(range(1, 15))
    low = [byte & 0xF for byte in frame]
    pictures = [(low[1 + 2 * place] & 7) << 4 | low[2 + 2 * place] for place in range(4)]
    characters = {picture: character for character, picture in SEGMENTS.items()}
    assert "".join(characters[picture] for picture in pictures) == digits
    assert bool(low[1] & 8) == minus
    assert [place for place in (1, 2, 3) if low[1 + 2 * place] & 8] == ([point] if point else [])
    read = {name for name, (byte, bit) in ANNUNCIATORS.items() if low[byte - 1] >> bit & 1}
    assert read == lit | {"rs232"}
