"""Streams of bytes for a decoder, and what was sent in them; the same for the same seed."""

import random
from collections.abc import Sequence
from dataclasses import dataclass

LONGEST_PIECE = 300
DAMAGES = ("lose", "double", "foreign", "flip")


@dataclass(frozen=True, slots=True)
class Stream:
    """sent: the frames in it, whole or damaged; empty where there were none. kind: how it was made."""

    kind: str
    data: bytes
    sent: frozenset[bytes]


def uniform(chance: random.Random, size: int) -> Stream:
    """Any byte with equal chance."""
    return Stream("random", chance.randbytes(size), frozenset())


def likely(chance: random.Random, size: int, frames: Sequence[bytes]) -> Stream:
    """Bytes that frames are made of, in any order: likelier to look like one."""
    alphabet = b"".join(frames)
    return Stream("likely", bytes(chance.choices(alphabet, k=size)), frozenset())


def damaged(chance: random.Random, size: int, frames: Sequence[bytes], damages: Sequence[str]) -> Stream:
    """Frame after frame, every third with one byte lost, doubled, foreign, or with one bit flipped."""
    parts: list[bytes] = []
    done, sent = 0, set()
    while done < size:
        frame = chance.choice(frames)
        sent.add(frame)
        number = len(parts)
        parts.append(_hurt(chance, frame, chance.choice(damages)) if number % 3 == 2 else frame)
        done += len(parts[-1])
    return Stream(by(damages), b"".join(parts), frozenset(sent))


def by(damages: Sequence[str]) -> str:
    return "damaged: " + ", ".join(damages)


def mangled(chance: random.Random, size: int, frames: Sequence[bytes]) -> Stream:
    """Frames in which one byte in about twenty is lost, doubled, foreign or flipped: several in a frame."""
    data = b"".join(chance.choices(frames, k=size // len(frames[0])))
    hurt = [
        _hurt(chance, data[start : start + 20], chance.choice(DAMAGES)) for start in range(0, len(data), 20)
    ]
    return Stream("mangled", b"".join(hurt), frozenset())


def pieces(chance: random.Random, data: bytes) -> list[tuple[int, bytes]]:
    """Cut at random, often byte by byte; with the place where each begins."""
    cut, start = [], 0
    while start < len(data):
        size = 1 if chance.random() < 0.2 else chance.randrange(1, LONGEST_PIECE)
        cut.append((start, data[start : start + size]))
        start += size
    return cut


def _hurt(chance: random.Random, frame: bytes, damage: str) -> bytes:
    place = chance.randrange(len(frame))
    before, byte, after = frame[:place], frame[place : place + 1], frame[place + 1 :]
    if damage == "lose":
        return before + after
    if damage == "double":
        return before + byte + byte + after
    if damage == "foreign":
        return before + chance.randbytes(1) + byte + after
    return before + bytes([byte[0] ^ 1 << chance.randrange(8)]) + after
