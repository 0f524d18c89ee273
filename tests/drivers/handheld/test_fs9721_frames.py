"""The decoder against the vector files, against an encoder of its own, and against damaged streams."""

import json
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.quantity import Unit
from meterlog.reading import Coupling, Indication, State
from meterlog_drivers.handheld.fs9721_frames import FRAME_BYTES, Decoder, decode_frame
from tests.drivers.vectors import rows

FRAMES = rows("fs9721.csv")
STREAMS = rows("fs9721_streams.csv")
GOOD = bytes.fromhex("17 20 35 4D 5B 61 7F 82 97 A0 B0 C0 D4 E0")  # fs9721-01: 1.234 V DC


def decode(data: bytes, cuts: list[int] | None = None) -> list[Indication]:
    decoder, found, start = Decoder(), [], 0
    for cut in [*sorted(cuts or []), len(data)]:
        found += decoder.feed(data[start:cut], at_ns=start)
        start = cut
    return found


@pytest.mark.parametrize("row", FRAMES, ids=lambda row: row["id"])
def test_each_frame_of_the_vector_file(row: dict[str, str]) -> None:
    found = decode(bytes.fromhex(row["hex"]))
    if row["expect"] == "reject":
        assert found == []
        return
    (shown,) = found
    expected = {"reading": [State.OK], "overload": [State.OVERLOAD], "no_value": [State.BLANK, State.INVALID]}
    assert shown.state in expected[row["expect"]]
    assert shown.unit == Unit(row["unit"])
    assert shown.function == row["function"]
    assert shown.coupling == Coupling(row["coupling"])
    assert shown.flags == set(row["flags"].split())
    assert shown.raw == bytes.fromhex(row["hex"])
    if row["expect"] == "reading":
        assert shown.value == float(row["value"])
        assert shown.resolution == float(row["resolution"])


def test_a_blank_display_and_letters_are_told_apart() -> None:
    states = {
        row["id"]: decode(bytes.fromhex(row["hex"]))[0].state for row in FRAMES if row["expect"] == "no_value"
    }
    assert states == {"fs9721-24": State.BLANK, "fs9721-25": State.INVALID}


def _word(shown: Indication) -> str:
    if shown.state is State.OK:
        return f"{shown.value:.10g} {shown.unit}"
    return f"{'overload' if shown.state is State.OVERLOAD else 'no_value'} {shown.unit}".strip()


def _check_stream(row: dict[str, str], cuts: list[int]) -> None:
    """All that must come comes in order; anything else must be allowed."""
    words = [_word(shown) for shown in decode(bytes.fromhex(row["hex"]), cuts)]
    must, may = json.loads(row["must_emit"]), json.loads(row["may_emit"])
    assert [word for word in words if word not in may or word in must] == must
    assert set(words) <= set(must) | set(may)


@pytest.mark.parametrize("row", STREAMS, ids=lambda row: row["id"])
@pytest.mark.parametrize("piece", [1, 2, 3, 8, 13, 1000])
def test_each_stream_in_pieces_of_one_size(row: dict[str, str], piece: int) -> None:
    _check_stream(row, list(range(piece, len(bytes.fromhex(row["hex"])), piece)))


@given(row=st.sampled_from(STREAMS), cuts=st.lists(st.integers(0, 60), max_size=12))
def test_each_stream_in_random_pieces(row: dict[str, str], cuts: list[int]) -> None:
    size = len(bytes.fromhex(row["hex"]))
    _check_stream(row, [cut for cut in cuts if cut < size])


# An encoder written from the description of the segments alone: 1 top, 2 upper right, 3 lower right,
# 4 bottom, 5 lower left, 6 upper left, 7 middle. The usual seven-segment figures (common practice).
FIGURES = ("123456", "23", "12457", "12347", "2367", "13467", "134567", "123", "1234567", "123467")
PLACES = [(("", 3), ("5", 2), ("6", 1), ("1", 0)), (("4", 3), ("3", 2), ("7", 1), ("2", 0))]
PREFIX_BITS = {"": None, "u": (9, 8), "n": (9, 4), "k": (9, 2), "m": (10, 8), "M": (10, 2)}
PREFIX_POWERS = {"": 0, "u": -6, "n": -9, "k": 3, "m": -3, "M": 6}
UNIT_BITS = {
    Unit.VOLT: (12, 4),
    Unit.AMPERE: (12, 8),
    Unit.OHM: (11, 4),
    Unit.FARAD: (11, 8),
    Unit.HERTZ: (12, 2),
}


def encode(digits: str, minus: bool, point: int, prefix: str, unit: Unit) -> bytes:
    nibbles = [1] + [0] * 13
    for place, digit in enumerate(digits):
        for half, bits in enumerate(PLACES):
            lit = sum(1 << bit for segment, bit in bits if segment and segment in FIGURES[int(digit)])
            nibbles[1 + 2 * place + half] = lit
    nibbles[1] |= 8 * minus
    if point:
        nibbles[1 + 2 * point] |= 8
    for place_and_bit in (PREFIX_BITS[prefix], UNIT_BITS[unit]):
        if place_and_bit:
            nibbles[place_and_bit[0]] |= place_and_bit[1]
    return bytes((index << 4) | nibble for index, nibble in enumerate(nibbles, start=1))


@given(
    digits=st.text("0123456789", min_size=4, max_size=4),
    minus=st.booleans(),
    point=st.integers(0, 3),
    prefix=st.sampled_from(sorted(PREFIX_BITS)),
    unit=st.sampled_from(sorted(UNIT_BITS)),
)
def test_what_is_drawn_is_what_is_read(digits: str, minus: bool, point: int, prefix: str, unit: Unit) -> None:
    shown = decode_frame(encode(digits, minus, point, prefix, unit), at_ns=7)
    assert shown is not None
    count = 10.0 ** (PREFIX_POWERS[prefix] - (4 - point if point else 0))
    assert math.isclose(shown.resolution, count, rel_tol=1e-12)
    assert math.isclose(shown.value or 0.0, int(digits) * count * (-1 if minus else 1), rel_tol=1e-12)
    assert (shown.unit, shown.monotonic_ns) == (unit, 7)


def test_leading_zeros_may_be_blank_but_a_hole_is_no_number() -> None:
    leading = bytearray(GOOD)
    leading[1:3], leading[3] = b"\x20\x30", 0x45  # first digit and its point dark: " 234"
    assert decode(bytes(leading))[0].value == 234.0
    hole = bytearray(GOOD)
    hole[5:7] = b"\x60\x70"  # "1.2 4"
    assert decode(bytes(hole))[0].state is State.INVALID


def test_both_couplings_at_once_are_refused() -> None:
    assert decode(bytes([GOOD[0] | 8]) + GOOD[1:]) == []


def test_a_frame_is_dated_by_the_piece_with_its_first_byte() -> None:
    decoder = Decoder()
    assert decoder.feed(b"\x00\x17", at_ns=100) == []
    assert decoder.feed(GOOD[1:9], at_ns=200) == []
    first, second = decoder.feed(GOOD[9:] + GOOD, at_ns=300)
    assert (first.monotonic_ns, second.monotonic_ns) == (100, 300)


def test_bytes_since_the_last_good_frame_are_counted() -> None:
    decoder = Decoder()
    decoder.feed(b"\x00" * 50 + GOOD + b"\xff" * 3, at_ns=0)
    assert decoder.bytes_since_frame == 3


def _justified(shown: Indication, stream: bytes) -> bool:
    """The stream holds these 14 bytes in a row, with index nibbles 1..E, and RS232 lit."""
    indices = [byte >> 4 for byte in shown.raw]
    return shown.raw in stream and indices == list(range(1, FRAME_BYTES + 1)) and bool(shown.raw[0] & 1)


@given(st.binary(max_size=400), st.lists(st.integers(0, 400), max_size=8))
def test_random_bytes_never_crash_and_never_lie(data: bytes, cuts: list[int]) -> None:
    found = decode(data, [cut for cut in cuts if cut < len(data)])
    assert all(_justified(shown, data) for shown in found)
    assert [(s.value, s.state) for s in found] == [(s.value, s.state) for s in decode(data)]


damage = st.tuples(
    st.sampled_from(["drop", "double", "insert", "flip"]), st.integers(0, 69), st.integers(0, 255)
)


def _damaged(stream: bytes, kind: str, at: int, byte: int) -> bytes:
    at %= len(stream)
    middle = {
        "drop": b"",
        "double": stream[at : at + 1] * 2,
        "insert": stream[at : at + 1] + bytes([byte]),
        "flip": bytes([stream[at] ^ byte]),
    }
    return stream[:at] + middle[kind] + stream[at + 1 :]


@given(st.lists(damage, min_size=1, max_size=5))
def test_damage_costs_frames_but_makes_none(damages: list[tuple[str, int, int]]) -> None:
    stream = GOOD * 5
    for kind, at, byte in damages:
        stream = _damaged(stream, kind, at, byte)
    assert all(_justified(shown, stream) for shown in decode(stream))
    assert decode(stream + GOOD)[-1].value == 1.234, "a good frame after the damage is read"


@given(st.integers(0, 69), st.sampled_from(["drop", "double", "insert"]), st.integers(0, 255))
def test_one_lost_doubled_or_foreign_byte_costs_one_frame_at_most(at: int, kind: str, byte: int) -> None:
    found = decode(_damaged(GOOD * 5, kind, at, byte))
    assert len(found) >= 4
    assert {shown.value for shown in found} == {1.234}


def test_memory_stays_less_than_a_frame_under_a_held_break() -> None:
    decoder = Decoder()
    assert decoder.feed(b"\x00" * 100_000, at_ns=0) == []
    assert len(decoder._window) < FRAME_BYTES
    assert decoder.feed(GOOD, at_ns=1)[0].value == 1.234
