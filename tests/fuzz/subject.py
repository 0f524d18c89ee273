"""What is fuzzed: a decoder, and what its format lets anyone check by simple means."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from meterlog.reading import Indication

Feed = Callable[[bytes, int], list[Indication]]
"""A piece of the stream and its date, which here is the place where it begins."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Subject:
    """One decoder.

    frames   sound ones, as they go over the line
    why_not  simple check of one reading by the bytes of the stream and the place where its frame stands,
             written apart from the decoder; "" if they justify it
    told     the kinds of damage, one in a frame, that the format can tell
    mask     which bits of a byte the frame that goes with a reading has
    dated    whether a reading is dated by the first byte of its frame
    """

    name: str
    new: Callable[[], Feed]
    frames: Sequence[bytes]
    why_not: Callable[[Indication, bytes, int], str]
    told: Sequence[str] = ("lose", "double", "foreign")
    mask: int = 0xFF
    dated: bool = True
