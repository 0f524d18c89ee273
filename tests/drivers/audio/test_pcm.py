"""Blocks of samples as bytes: the same however they are cut, nothing of what is damaged. Made up."""

from hypothesis import given
from hypothesis import strategies as st

from meterlog.reading.pcm import LARGEST_BYTES, MARK, Block, Blocks, Kind

BLOCK = Block(Kind.SAMPLES, bytes(range(40)), 48_000, 1200, True)

blocks = st.builds(
    Block,
    st.sampled_from(Kind),
    st.binary(max_size=60),
    st.integers(0, 200_000),
    st.integers(0, 2**63),
    st.booleans(),
)


@given(st.lists(blocks, max_size=5), st.data())
def test_whole_or_in_pieces_it_is_the_same(sent: list[Block], data: st.DataObject) -> None:
    stream = b"".join(block.packed() for block in sent)
    reader, came, at = Blocks(), [], 0
    while at < len(stream):
        size = data.draw(st.integers(1, 80))
        came += reader.feed(stream[at : at + size])
        at += size
    assert came == sent


@given(st.lists(st.binary(max_size=50)))
def test_any_bytes_are_taken(pieces: list[bytes]) -> None:
    reader = Blocks()
    for piece in pieces:
        list(reader.feed(piece))
    assert len(reader._buffer) <= 500


@given(st.binary(max_size=30).filter(lambda noise: MARK[:1] not in noise))
def test_noise_before_a_block_is_skipped(noise: bytes) -> None:
    assert list(Blocks().feed(noise + BLOCK.packed())) == [BLOCK]


def test_a_head_that_promises_too_much_or_another_kind_is_damaged() -> None:
    head = BLOCK.packed()
    huge = head[:5] + (LARGEST_BYTES + 1).to_bytes(4, "little") + head[9:]
    other = head[:4] + b"\x07" + head[5:]
    for damaged in (huge, other):
        assert list(Blocks().feed(damaged + BLOCK.packed())) == [BLOCK]
