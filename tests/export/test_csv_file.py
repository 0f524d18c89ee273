"""Both flavours read back with the standard library, as RFC 4180 has it, and byte by byte."""

import csv
from datetime import datetime, timedelta, timezone
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.accuracy.budget import Line, Source
from meterlog.accuracy.spread import Shape
from meterlog.export.csv_file import PLAIN, SEMICOLON, Flavour, write_csv
from meterlog.export.tables import Cell, Table


def written(tmp_path: Path, cells: list[Cell], flavour: Flavour) -> bytes:
    path = tmp_path / "one.csv"
    write_csv(Table("row", [f"c{i}" for i in range(len(cells))], [cells]), path, flavour)
    return path.read_bytes()


def read_back(data: bytes, flavour: Flavour) -> list[str]:
    text = data.decode(flavour.encoding)
    rows = list(csv.reader(text.splitlines(keepends=True), delimiter=flavour.separator))
    assert len(rows) == 2
    return rows[1]


def test_the_bytes_of_the_plain_flavour(tmp_path: Path) -> None:
    assert written(tmp_path, [-12.3, 'say "so"', None], PLAIN) == b'c0,c1,c2\r\n-12.3,"say ""so""",\r\n'


def test_the_bytes_of_the_semicolon_flavour(tmp_path: Path) -> None:
    """The mark EF BB BF is what makes spreadsheets read the rest as UTF-8."""
    data = written(tmp_path, [-12.3, 7, "Ω µ"], SEMICOLON)
    assert data == b"\xef\xbb\xbf" + "c0;c1;c2\r\n-12,3;7;Ω µ\r\n".encode()


@pytest.mark.parametrize("flavour", [PLAIN, SEMICOLON])
@pytest.mark.parametrize("text", ["=1+1", "+1", "-1", "@cell", "\tx", "\rx"])
def test_text_that_would_be_a_formula_is_guarded(tmp_path: Path, flavour: Flavour, text: str) -> None:
    path = tmp_path / "one.csv"
    write_csv(Table("row", ["c"], [[text]]), path, flavour)
    with path.open(encoding=flavour.encoding, newline="") as file:
        assert list(csv.reader(file, delimiter=flavour.separator))[1] == [f"'{text}"]


@pytest.mark.parametrize("number", [-12.3, -0.0042, -1e-9, -7])
def test_a_negative_number_stays_a_number(tmp_path: Path, number: float) -> None:
    assert float(read_back(written(tmp_path, [number], PLAIN), PLAIN)[0]) == number
    back = read_back(written(tmp_path, [number], SEMICOLON), SEMICOLON)[0]
    assert float(back.replace(",", ".")) == number


@given(number=st.floats(allow_nan=False, allow_infinity=False))
@pytest.mark.parametrize("flavour", [PLAIN, SEMICOLON])
def test_every_number_comes_back_to_the_last_bit(
    tmp_path_factory: pytest.TempPathFactory, flavour: Flavour, number: float
) -> None:
    data = written(tmp_path_factory.mktemp("csv"), [number], flavour)
    assert float(read_back(data, flavour)[0].replace(flavour.decimal_mark, ".")) == number


@given(text=st.text(st.characters(codec="utf-8", exclude_characters="\x00")))
def test_every_text_comes_back(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    path = tmp_path_factory.mktemp("csv") / "one.csv"
    write_csv(Table("row", ["a", "b"], [[text, "end"]]), path, PLAIN)
    with path.open(encoding="utf-8", newline="") as file:
        back = list(csv.reader(file))[1]
    guarded = text.startswith(("=", "+", "-", "@", "\t", "\r"))
    assert back == [f"'{text}" if guarded else text, "end"]


@pytest.mark.parametrize("flavour", [PLAIN, SEMICOLON])
def test_a_budget_is_text_and_no_formula(tmp_path: Path, flavour: Flavour) -> None:
    readings = Line(Source("readings", 0.0005), 2.0, 0.001)
    gain = Line(Source("=gain", 0.0002, Shape.RECTANGULAR), 1.0, 0.0002)
    assert read_back(written(tmp_path, [(readings, gain)], flavour), flavour) == [
        "readings (normal) 0.001; =gain (rectangular) 0.0002"
    ]
    assert read_back(written(tmp_path, [(gain,)], flavour), flavour) == ["'=gain (rectangular) 0.0002"]
    assert read_back(written(tmp_path, [(), "end"], flavour), flavour) == ["", "end"]


def test_times_carry_their_offset(tmp_path: Path) -> None:
    time = datetime(2026, 10, 25, 2, 30, tzinfo=timezone(timedelta(hours=2)))
    back = read_back(written(tmp_path, [time], SEMICOLON), SEMICOLON)
    assert back == ["2026-10-25T02:30:00.000000+02:00"]
