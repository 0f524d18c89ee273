"""Damaged streams: nothing is raised, nothing grows, and no number comes that the stream does not justify.

How far that goes hangs on the format. A frame without a check may be damaged into another sound frame (two
bytes exchanged, a bit flipped); then what is held to is that the bytes of each reading stood in the stream in
a row. Formats with a check are held to more: only what an undamaged frame carried.
"""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading import Indication, State
from meterlog_drivers.handheld.framing import seven_bits
from tests.drivers.handheld.kinds import FORMATS, FRAMES, decode, frame, numbers, sound, with_parity

NAMES = sorted(FORMATS)
SEVEN_BITS = ("ascii14", "bin11", "es519-11", "es51922")
LONGEST = {"ascii14": 15, "bin11": 11, "es519-11": 12, "es51922": 15, "stx16": 16, "abcd-sum16": 19}
"""More than this no decoder keeps; 14 where it is not named. Lines keep one byte too many to know them by."""

KINDS = ("drop", "double", "insert", "flip")


def damaged(whole: bytes, kind: str, at: int, byte: int) -> bytes:
    """flip: one bit, chosen by `byte`."""
    at %= len(whole)
    middle = {
        "drop": b"",
        "double": whole[at : at + 1] * 2,
        "insert": whole[at : at + 1] + bytes([byte]),
        "flip": bytes([whole[at] ^ 1 << byte % 8]),
    }
    return whole[:at] + middle[kind] + whole[at + 1 :]


damage = st.tuples(st.sampled_from(KINDS), st.integers(0, 60), st.integers(0, 255))


def _stood_there(name: str, shown: Indication, stream: bytes) -> bool:
    return shown.raw in (seven_bits(stream) if name in SEVEN_BITS else stream)


@given(
    name=st.sampled_from(NAMES), data=st.binary(max_size=400), cuts=st.lists(st.integers(0, 400), max_size=8)
)
def test_random_bytes_never_crash_and_never_lie(name: str, data: bytes, cuts: list[int]) -> None:
    found = decode(name, data, cuts)
    assert all(_stood_there(name, shown, data) for shown in found)
    assert numbers(found) == numbers(decode(name, data))


@given(name=st.sampled_from(NAMES), data=st.data(), damages=st.lists(damage, min_size=1, max_size=6))
def test_damage_costs_frames_and_makes_none_that_were_not_sent(
    name: str, data: st.DataObject, damages: list[tuple[str, int, int]]
) -> None:
    frames = data.draw(st.lists(st.sampled_from(sound(name)), min_size=1, max_size=5))
    stream = b"".join(frames)
    for kind, at, byte in damages:
        stream = damaged(stream, kind, at, byte)
    assert all(_stood_there(name, shown, stream) for shown in decode(name, stream))


@given(name=st.sampled_from(NAMES), data=st.data(), noise=st.binary(max_size=40))
def test_two_good_frames_after_anything_give_a_reading_at_least(
    name: str, data: st.DataObject, noise: bytes
) -> None:
    """One may be spoilt by what stands before it: a line without an end, a mark in the noise."""
    good = data.draw(st.sampled_from(sound(name)))
    (expected,) = decode(name, good)
    found = decode(name, noise + good + good)
    assert found
    assert found[-1].value == expected.value


@given(
    name=st.sampled_from([name for name in NAMES if name != "abcd-sum16"]),
    data=st.data(),
    kind=st.sampled_from(["drop", "double", "insert"]),
    at=st.integers(0, 60),
    byte=st.integers(0, 255),
)
def test_one_lost_doubled_or_foreign_byte_costs_two_frames_at_most_and_makes_no_number(
    name: str, data: st.DataObject, kind: str, at: int, byte: int
) -> None:
    """The doubled byte of es519xx among them, which gives a shifted block that looks sound.

    Two, where it stands between frames: a byte that could belong to the next, or an end mark that is lost.
    """
    frames = data.draw(st.lists(st.sampled_from(sound(name)), min_size=3, max_size=5))
    stream = b"".join(frames)
    found = decode(name, damaged(stream, kind, at % len(stream), byte))
    sent = [decode(name, one)[0].value for one in frames]
    assert len(found) >= len(frames) - 2
    assert _in_order([one.value for one in found], sent)


def _in_order(found: list[float | None], sent: list[float | None]) -> bool:
    """Whether what was found is what was sent, with gaps."""
    rest = iter(sent)
    return all(value in rest for value in found)


@given(name=st.sampled_from(["es51922", "es519-11"]), data=st.data())
def test_with_parity_one_fault_in_each_block_makes_no_number(name: str, data: st.DataObject) -> None:
    """A flipped bit too, even in the first block, before it is known that there is a parity."""
    frames = data.draw(st.lists(st.sampled_from(sound(name)), min_size=2, max_size=5))
    blocks = map(with_parity, frames)
    spoilt = [damaged(one, *data.draw(damage)) if data.draw(st.booleans()) else one for one in blocks]
    sent = [decode(name, one)[0].value for one in frames]
    assert _in_order([one.value for one in decode(name, b"".join(spoilt))], sent)


@given(data=st.data())
def test_with_a_sum_one_fault_in_each_answer_makes_no_number(data: st.DataObject) -> None:
    """Two faults in one answer may cancel out in a sum: a byte lost here and put in again there."""
    frames = data.draw(st.lists(st.sampled_from(sound("abcd-sum16")), min_size=1, max_size=5))
    spoilt = [damaged(one, *data.draw(damage)) if data.draw(st.booleans()) else one for one in frames]
    found = [one.raw for one in decode("abcd-sum16", b"".join(spoilt))]
    rest = iter(frames)
    assert all(raw in rest for raw in found), "only what was sent, in that order"


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("babble", [b"\x00", b"\x33", b"\xab\xcd\x10", b"\x02", b"0", b"\x0d", b" "])
def test_memory_stays_small_under_babble_and_the_next_frames_are_read(name: str, babble: bytes) -> None:
    """A break that is held gives zeros."""
    decoder = FORMATS[name].decoder()
    good = sound(name)[0]
    assert decoder.feed(babble * 5_000, at_ns=0) == []
    assert len(decoder._window) <= LONGEST.get(name, 14)
    assert len(getattr(decoder, "_dates_ns", [])) <= LONGEST.get(name, 14)
    assert [one.raw for one in decoder.feed(good + good, at_ns=1)][-1:] == [good]


@given(name=st.sampled_from(NAMES), data=st.binary(max_size=600))
def test_memory_stays_small_under_noise(name: str, data: bytes) -> None:
    decoder = FORMATS[name].decoder()
    for start in range(0, len(data), 7):
        decoder.feed(data[start : start + 7], at_ns=0)
        assert len(decoder._window) <= LONGEST.get(name, 14)


@pytest.mark.parametrize("name", NAMES)
def test_bytes_since_the_last_good_frame_are_counted(name: str) -> None:
    decoder = FORMATS[name].decoder()
    decoder.feed(b"\x00" * 50 + sound(name)[0] + b"\xff" * 3, at_ns=0)
    assert decoder.bytes_since_good == 3


def test_the_doubled_byte_of_a_block_that_would_look_sound() -> None:
    """12.280 V; with its third byte doubled, a window over the last 14 bytes would show 22.280 V."""
    block = frame("es51922-06")
    shifted = block[1:3] + block[2:]
    assert [one.value for one in decode("es51922", shifted)] == [22.28]
    for at in range(len(block) - 2):
        doubled = block[: at + 1] + block[at:]
        assert decode("es51922", doubled) == []
        assert decode("es51922", with_parity(doubled)) == []


@pytest.mark.parametrize(
    ("row", "foreign"), [("fs9922-02", b"+"), ("b11-02", b"\x00"), ("fs9721-01", b"\x1b")]
)
def test_a_foreign_byte_behind_the_first_takes_neither_sign_nor_coupling(row: str, foreign: bytes) -> None:
    """Minus becomes plus, DC becomes AC, if the last of two possible first bytes is believed."""
    good = frame(row)
    name = next(name for name, own in FRAMES.items() if any(one["id"] == row for one in own))
    assert decode(name, good[:1] + foreign + good[1:]) == []
    assert decode(name, foreign + good) == []
    assert len(decode(name, foreign + good + good)) == 1
    assert len(decode(name, good[:1] + good)) == 1, "a doubled byte leaves no doubt"


def test_a_port_with_parity_takes_no_block_without() -> None:
    good = frame("es51922-01")
    found = decode("es51922", with_parity(good) + good + with_parity(good))
    assert [one.state for one in found] == [State.OK] * 2


def test_a_port_without_parity_may_turn_out_to_have_it() -> None:
    """The first block lost its parity bits by damage, or was glued from two ports; the next decide."""
    good = frame("es51922-01")
    assert len(decode("es51922", good + with_parity(good) * 2)) == 3
