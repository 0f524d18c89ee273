"""Where an answer ends, however it is cut into pieces."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Garbled
from meterlog_drivers.scpi.assembler import LONGEST_ANSWER_BYTES, Answer, Assembler
from tests.drivers.vectors import rows

ROWS = [row for row in rows("scpi_responses.csv") if row["hex"].endswith("0A")]
WHOLE = [bytes.fromhex(row["hex"]) for row in ROWS]

each_answer = pytest.mark.parametrize("data", WHOLE, ids=[row["id"] for row in ROWS])


def assembled(data: bytes, cuts: list[int], end: bytes = b"\n") -> list[Answer]:
    assembler, answers, start = Assembler(end), [], 0
    for cut in [*sorted(cuts), len(data)]:
        answer = assembler.feed(data[start:cut])
        answers += [answer] if answer else []
        start = cut
    return answers


@each_answer
def test_byte_by_byte_and_whole_give_the_same(data: bytes) -> None:
    (whole,) = assembled(data, [])
    assert assembled(data, list(range(1, len(data)))) == [whole]
    assert whole.raw == data


@given(st.sampled_from(WHOLE), st.lists(st.integers(1, 60), max_size=8))
def test_random_pieces_give_the_same(data: bytes, cuts: list[int]) -> None:
    assert assembled(data, [cut for cut in cuts if cut < len(data)]) == assembled(data, [])


@each_answer
def test_no_beginning_of_an_answer_is_one(data: bytes) -> None:
    """The LF that ends it is the first that may: a cut number is never taken."""
    for stop in range(len(data) - 1):
        assert assembled(data[:stop], []) == []


def test_the_answers_of_a_glued_stream_come_one_by_one() -> None:
    assembler = Assembler()
    first = assembler.feed(b"1.1\n2.2\r\n3.")
    second = assembler.feed(b"")
    assert [a.content for a in (first, second) if a] == [b"1.1", b"2.2"]
    assert assembler.clear() == b"3."


def test_a_meter_that_ends_by_cr_alone() -> None:
    (answer,) = assembled(b"0,No error\r", [], end=b"\r")
    assert answer.content == b"0,No error"


@pytest.mark.parametrize("line", [b"1.5\r\n", b"\r1.5\n", b" 1.5 \n"])
def test_the_other_half_of_a_terminator_does_not_matter(line: bytes) -> None:
    assert assembled(line, [])[0].content == b"1.5"


def test_a_non_decimal_number_is_a_line() -> None:
    assert assembled(b"#H24\n", [])[0].content == b"#H24"


def test_a_count_too_small_is_refused() -> None:
    with pytest.raises(Garbled, match="past its count of 3"):
        assembled(b"#13+1.0E+00\n", [])


@pytest.mark.parametrize("head", [b"#2x1", b"#3\n", b"#9999999999\n"])
def test_a_header_that_is_none_is_refused(head: bytes) -> None:
    with pytest.raises(Garbled):
        assembled(head, [])


def test_a_binary_block_may_end_with_lf_inside_its_count() -> None:
    block = b"#18\xc0\x01\x02\x03\x04\x05\x06\n"
    assert assembled(block, []) == [], "the last counted byte is data, the terminator is still to come"
    assert assembled(block + b"\n", [])[0].content == block[3:]


def test_a_flood_without_end_is_refused_at_64_kib() -> None:
    assembler = Assembler()
    for _ in range(LONGEST_ANSWER_BYTES // 4096):
        assert assembler.feed(b"7" * 4096) is None
    with pytest.raises(Garbled, match="without an end"):
        assembler.feed(b"7")


@given(st.binary(max_size=200), st.lists(st.integers(0, 200), max_size=6), st.sampled_from([b"\n", b"\r"]))
def test_any_bytes_give_answers_or_garbled(data: bytes, cuts: list[int], end: bytes) -> None:
    try:
        answers = assembled(data, [cut for cut in cuts if cut < len(data)], end)
    except Garbled:
        return
    for answer in answers:
        assert answer.raw in data
        assert answer.content in answer.raw
