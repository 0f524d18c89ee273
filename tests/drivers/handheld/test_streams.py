"""Streams with the faults of a serial line, fed whole, byte by byte and in random pieces."""

import json

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Indication, State
from tests.drivers.handheld.kinds import FORMATS, STREAMS, Cuts, decode, frame, numbers


def _word(shown: Indication) -> str:
    if shown.state is State.OK:
        return f"{shown.value:.10g} {shown.unit}"
    return f"{'overload' if shown.state is State.OVERLOAD else 'no_value'} {shown.unit}".strip()


def _normal(words: str) -> list[str]:
    return [
        f"{float(value):.10g} {unit}" if value[-1].isdigit() else f"{value} {unit}"
        for value, unit in (word.split() for word in json.loads(words))
    ]


def _check_stream(row: dict[str, str], cuts: Cuts) -> None:
    """All that must come comes in order; anything else must be allowed."""
    words = [_word(shown) for shown in decode(row["format"], bytes.fromhex(row["hex"]), cuts)]
    must, may = _normal(row["must_emit"]), _normal(row["may_emit"])
    assert [word for word in words if word not in may or word in must] == must
    assert set(words) <= set(must) | set(may)


def test_every_format_has_streams_but_the_one_that_asks_with_sums() -> None:
    assert {row["format"] for row in STREAMS} == set(FORMATS) - {"abcd-sum16"}


@pytest.mark.parametrize("row", STREAMS, ids=lambda row: row["id"])
@pytest.mark.parametrize("piece", [1, 2, 3, 8, 13, 1000])
def test_each_stream_in_pieces_of_one_size(row: dict[str, str], piece: int) -> None:
    _check_stream(row, range(piece, len(bytes.fromhex(row["hex"])), piece))


@given(row=st.sampled_from(STREAMS), cuts=st.lists(st.integers(0, 60), max_size=12))
def test_each_stream_in_random_pieces(row: dict[str, str], cuts: list[int]) -> None:
    _check_stream(row, cuts)


# Made up: the faults of a serial line about answers with a sum.
ONE, TWO, THREE = frame("abcd-01"), frame("abcd-02"), frame("abcd-03")
WITH_SUMS = {
    "clean": (ONE + TWO + THREE, [ONE, TWO, THREE]),
    "midstart": (ONE[7:] + TWO + THREE, [TWO, THREE]),
    "lastbyte": (ONE[-1:] + TWO + THREE, [TWO, THREE]),
    "drop-first": (ONE + TWO[1:] + THREE, [ONE, THREE]),
    "drop-mid": (ONE + TWO[:7] + TWO[8:] + THREE, [ONE, THREE]),
    "drop-last": (ONE + TWO[:-1] + THREE, [ONE, THREE]),
    "dup-mid": (ONE + TWO[:8] + TWO[7:] + THREE, [ONE, THREE]),
    "noise-between": (ONE + b"\x7f" + TWO + b"\x00\x00" + THREE, [ONE, TWO, THREE]),
    "half-header-between": (ONE + b"\xab" + TWO + b"\xab\xcd" + THREE, [ONE, TWO, THREE]),
    "header-and-length-between": (ONE + b"\xab\xcd\x10" + TWO + THREE, [ONE, TWO, THREE]),
    "long-length": (ONE + frame("abcd-07") + THREE, [ONE, THREE]),
    "acknowledged": (ONE + frame("abcd-pub-4") + THREE, [ONE, THREE]),
    "tail": (ONE + TWO + THREE[:10], [ONE, TWO]),
}


@pytest.mark.parametrize("fault", WITH_SUMS)
@pytest.mark.parametrize("piece", [1, 2, 3, 8, 1000])
def test_answers_with_sums_in_pieces(fault: str, piece: int) -> None:
    stream, expected = WITH_SUMS[fault]
    assert [one.raw for one in decode("abcd-sum16", stream, range(piece, len(stream), piece))] == expected


@pytest.mark.parametrize("name", FORMATS)
def test_a_frame_is_dated_by_the_piece_with_its_first_byte(name: str) -> None:
    good = next(bytes.fromhex(row["hex"]) for row in STREAMS_AND_SUMS if row["format"] == name)
    decoder = FORMATS[name].decoder()
    first = decode(name, good)[0].raw
    assert decoder.feed(b"\x7f\xff" + first[:1], at_ns=100) == []
    assert decoder.feed(first[1:7], at_ns=200) == []
    found = decoder.feed(first[7:] + first, at_ns=300)
    assert [one.monotonic_ns for one in found] == [100, 300]


STREAMS_AND_SUMS = [*STREAMS, {"format": "abcd-sum16", "hex": ONE.hex()}]


@given(
    name=st.sampled_from(sorted(FORMATS)),
    data=st.data(),
    cuts=st.lists(st.integers(0, 400), max_size=10),
)
def test_what_is_found_does_not_depend_on_the_pieces(name: str, data: st.DataObject, cuts: list[int]) -> None:
    """Any mixture of good frames, pieces of them, and noise."""
    own = [bytes.fromhex(row["hex"]) for row in STREAMS_AND_SUMS if row["format"] == name]
    good = st.sampled_from(own)
    piece = st.builds(lambda whole, at, end: whole[at:end], good, st.integers(0, 60), st.integers(0, 60))
    stream = b"".join(data.draw(st.lists(st.one_of(good, piece, st.binary(max_size=20)), max_size=8)))
    assert numbers(decode(name, stream, cuts)) == numbers(decode(name, stream))
    assert numbers(decode(name, stream, range(len(stream)))) == numbers(decode(name, stream))
