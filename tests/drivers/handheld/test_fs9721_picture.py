"""The picture of the FS9721 display against an encoder of its own, and what its index nibbles bear."""

import math

from hypothesis import given
from hypothesis import strategies as st

from meterlog.quantity import Unit
from meterlog.reading import Indication, State
from meterlog_drivers.handheld.fs9721 import FORMAT, FRAME_BYTES, read
from tests.drivers.handheld.kinds import decode as decode_any
from tests.drivers.handheld.test_damage import damaged

GOOD = bytes.fromhex("17 20 35 4D 5B 61 7F 82 97 A0 B0 C0 D4 E0")  # fs9721-01: 1.234 V DC


def decode(data: bytes) -> list[Indication]:
    return decode_any("fs9721", data)


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
    (shown,) = read(encode(digits, minus, point, prefix, unit), 7) or ()
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


def _justified(shown: Indication, stream: bytes) -> bool:
    """The stream holds these 14 bytes in a row, with index nibbles 1..E, and RS232 lit."""
    indices = [byte >> 4 for byte in shown.raw]
    return shown.raw in stream and indices == list(range(1, FRAME_BYTES + 1)) and bool(shown.raw[0] & 1)


damage = st.tuples(
    st.sampled_from(["drop", "double", "insert", "flip"]), st.integers(0, 69), st.integers(0, 255)
)


@given(st.lists(damage, min_size=1, max_size=5))
def test_damage_costs_frames_but_makes_none(damages: list[tuple[str, int, int]]) -> None:
    stream = GOOD * 5
    for kind, at, byte in damages:
        stream = damaged(stream, kind, at, byte)
    assert all(_justified(shown, stream) for shown in decode(stream))
    assert decode(stream + GOOD)[-1].value == 1.234, "a good frame after the damage is read"


@given(st.integers(0, 69), st.sampled_from(["drop", "double", "insert"]), st.integers(0, 255))
def test_one_lost_doubled_or_foreign_byte_costs_one_frame_at_most(at: int, kind: str, byte: int) -> None:
    found = decode(damaged(GOOD * 5, kind, at, byte))
    assert len(found) >= 4
    assert {shown.value for shown in found} == {1.234}


def test_memory_stays_less_than_a_frame_under_a_held_break() -> None:
    decoder = FORMAT.decoder()
    assert decoder.feed(b"\x00" * 100_000, at_ns=0) == []
    assert len(decoder._window) < FRAME_BYTES
    assert decoder.feed(GOOD, at_ns=1)[0].value == 1.234
