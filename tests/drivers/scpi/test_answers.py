"""Answers against the vector file, and against everything that is almost a number."""

import math
import re
from collections.abc import Callable
from decimal import Decimal

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Garbled, State
from meterlog_drivers.scpi.answers import (
    Element,
    judge,
    last_digit,
    measured,
    parse_bool,
    parse_elements,
    parse_error,
    parse_identity,
    parse_integer,
    parse_reals,
    parse_text,
    split_compound,
    split_identity,
)
from meterlog_drivers.scpi.assembler import Answer, take_answer
from tests.drivers.vectors import rows

ROWS = rows("scpi_responses.csv")
LAYOUTS = {"block-real64": ">d", "block-real32": ">f", "block-real64-swapped": "<d"}


def whole(row: dict[str, str]) -> Answer:
    raw = bytes.fromhex(row["hex"])
    answer = take_answer(
        raw if raw.endswith((b"\n", b"\r")) else raw + b"\n", raw[-1:] if raw[-1:] == b"\r" else b"\n"
    )
    assert answer is not None, "complete as it stands, without waiting for more"
    return answer


def status(element: Element) -> str:
    """overload-neg is told from overload by the sign that is kept in the raw text."""
    if element.state is State.OVERLOAD:
        return "overload-neg" if element.raw.startswith(b"-") else "overload"
    return {State.OK: "ok", State.INVALID: "nan"}[element.state]


def elements_of(row: dict[str, str]) -> list[Element]:
    content = whole(row).content
    layout = LAYOUTS.get(row["kind"])
    return parse_reals(content, layout) if layout else parse_elements(content)


NUMBERS = [
    row for row in ROWS if row["kind"] in ("number", "list", "block", *LAYOUTS) and row["expect"] != "error"
]


@pytest.mark.parametrize("row", NUMBERS, ids=lambda row: row["id"])
def test_numbers_lists_and_blocks_of_the_vector_file(row: dict[str, str]) -> None:
    elements = elements_of(row)
    assert [status(e) for e in elements] == row["status"].split()
    written = [None if v == "-" else float(v) for v in row["values"].split()]
    expected = written or [None] * len(elements)  # a lone sentinel has an empty cell
    assert [e.value for e in elements] == expected
    if row["unit"]:
        assert [e.suffix or "-" for e in elements] == row["unit"].split()
    assert whole(row).miscounted == (row["expect"] == "ok-lenient")


@pytest.mark.parametrize("row", [r for r in ROWS if r["expect"] == "error"], ids=lambda row: row["id"])
def test_what_is_no_number_is_refused_with_its_text(row: dict[str, str]) -> None:
    with pytest.raises(Garbled, match=re.escape(bytes.fromhex(row["hex"]).decode().strip())):
        elements_of(row)


def _error_fields(content: bytes) -> list[str]:
    error = parse_error(content)
    return [str(error.number), error.text, *filter(None, [error.information])]


FIELDS: dict[str, Callable[[bytes], list[str]]] = {
    "idn": lambda content: split_identity(parse_text(content)),
    "error": _error_fields,
    "bool": lambda content: [str(parse_bool(content)).lower()],
    "integer": lambda content: [str(parse_integer(content))],
    "compound": split_compound,
}


@pytest.mark.parametrize("row", [r for r in ROWS if r["kind"] in FIELDS], ids=lambda row: row["id"])
def test_fields_of_the_vector_file(row: dict[str, str]) -> None:
    assert FIELDS[row["kind"]](whole(row).content) == row["values"].split("|")


def test_every_row_of_the_vector_file_is_tried() -> None:
    kinds = {"number", "list", "block", *LAYOUTS, *FIELDS}
    assert {row["kind"] for row in ROWS} == kinds
    assert len(ROWS) == 48


def test_an_identity_keeps_its_own_words() -> None:
    identity = parse_identity(b"ACME,INSTR,0,01-02")
    assert (identity.maker, identity.model, identity.version) == ("ACME", "INSTR", "01-02")
    assert identity.serial_number == "", "0 means that the instrument does not know (IEEE 488.2, 10.14)"
    odd = parse_identity(b'"M1", HV A, FV 1.01')
    assert (odd.maker, odd.text) == ("", '"M1", HV A, FV 1.01')


@pytest.mark.parametrize("late", [b"+1.23E+00", b"1", b"1,2,3,4", b"1.0VDC, 2.0SECS", b"", b"OK"])
def test_a_late_answer_is_no_identity(late: bytes) -> None:
    with pytest.raises(Garbled, match=r"no answer to \*IDN"):
        parse_identity(late)


ALMOST_NUMBERS = [
    *("nan", "inf", "-inf", "NAN", "infinity", "1_000", "0x10", "#H24", "１２", "++1", ".5", "-", "+"),
    *("1e", "1E+", "1.5E", "1.5E-", "-12.", "1.2.3", "1e1234", "1.0XYZ", "1.0E+00VD", "1 2", "0" * 60),
    *("12,5,", ",1", "1,,2"),
]


@pytest.mark.parametrize("text", ALMOST_NUMBERS)
def test_no_kindness_to_what_is_almost_a_number(text: str) -> None:
    """Things that a lenient converter takes, or that remain when an answer is cut."""
    with pytest.raises(Garbled):
        parse_elements(text.encode())


@pytest.mark.parametrize(
    ("parse", "text"),
    [
        (parse_integer, b"1.0"),
        (parse_bool, b"2"),
        (parse_error, b"1.5"),
        (parse_text, b"\xb1"),
    ],
)
def test_the_other_forms_are_strict_too(parse: Callable[[bytes], object], text: bytes) -> None:
    with pytest.raises(Garbled):
        parse(text)


@pytest.mark.parametrize(
    ("number", "state"),
    [
        (9.9e37, State.OVERLOAD),
        (-9.9e37, State.OVERLOAD),
        (9.91e37, State.INVALID),
        (9.90001e37, State.INVALID),
        (1e38, State.INVALID),
        (math.inf, State.INVALID),
        (math.nan, State.INVALID),
        (1.1e20, State.INVALID),
        (1e20, State.OK),
        (1e9, State.OK),
    ],
)
def test_sentinels(number: float, state: State) -> None:
    """SCPI-1999 vol. 1, 7.2.1; the bound of 1E20 is common practice."""
    assert judge(number)[1] is state


def test_the_overload_of_another_dialect() -> None:
    (element,) = parse_elements(b"1E+9", overload=1e9)
    assert element.state is State.OVERLOAD


def test_time_stamps_and_counters_are_no_readings() -> None:
    """The line is printed in the manual of a scanning meter (row sr-18)."""
    elements = parse_elements(b"+1.23456789E-03VDC, +11.664SECS, +236RDNG, 000, 0000LIMITS")
    assert [e.value for e in measured(elements)] == [0.00123456789]


def test_a_block_that_holds_no_whole_numbers() -> None:
    with pytest.raises(Garbled, match="7 bytes"):
        parse_reals(b"1234567", ">d")


@given(st.floats(allow_nan=False, allow_infinity=False, min_value=-1e19, max_value=1e19))
def test_nr3_round_trip(value: float) -> None:
    text = f"{value:+.16E}"
    (element,) = parse_elements(text.encode())
    assert element.value == value


@given(st.binary(max_size=80))
def test_any_bytes_give_numbers_or_garbled(data: bytes) -> None:
    for parse in (
        parse_elements,
        parse_integer,
        parse_bool,
        parse_error,
        parse_identity,
        split_compound,
    ):
        try:
            result = parse(data)
        except Garbled:
            continue
        if parse is parse_elements:
            assert all(isinstance(e, Element) and (e.value is None or math.isfinite(e.value)) for e in result)  # type: ignore[union-attr]


@pytest.mark.parametrize(
    ("number", "count"),
    [
        ("12", 1.0),
        ("-7", 1.0),
        ("1.2345", 1e-4),
        ("+1.23456789E-03", 1e-11),
        ("-1.5e2", 10.0),
        ("+0.00000000E+00", 1e-8),
        ("3E5", 1e5),
        ("1E-999", 0.0),
        ("0E999", 0.0),
    ],
)
def test_one_count_is_the_last_digit_sent(number: str, count: float) -> None:
    """By the meaning of decimal notation; the forms are NR1, NR2, NR3 of IEEE 488.2, 8.7 (from memory)."""
    assert last_digit(number) == count


@given(st.decimals(-1000, 1000, places=6), st.integers(-12, 6))
def test_a_count_more_changes_the_last_digit_by_one(mantissa: Decimal, exponent: int) -> None:
    """Against the decimal arithmetic of the standard library."""
    text = f"{mantissa:+.6f}E{exponent:+03d}"
    (element,) = parse_elements(text.encode("ascii"))
    assert element.count == float(Decimal((0, (1,), Decimal(text).as_tuple().exponent)))  # type: ignore[arg-type]


def test_what_is_no_value_or_has_no_digits_has_no_count() -> None:
    assert [element.count for element in parse_elements(b"+9.90000000E+37,+9.91E+37,+1.5E+00VDC")] == [
        0,
        0,
        0.1,
    ]
    assert [element.count for element in parse_reals(bytes.fromhex("3FF0000000000000"), ">d")] == [0]
