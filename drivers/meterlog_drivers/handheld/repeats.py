"""Meters that send each block twice: two blocks, one measurement."""

from collections.abc import Iterable

from meterlog.reading import Indication

REPEAT_S = 0.28
"""Two or three conversions a second are usual: half of one takes 0.25 s at most, a whole one 0.33 s at least.
How the two blocks are spaced was not found; this holds whether they come back to back or evenly spread."""


class Repeats:
    """Leaves out the second of two equal blocks of one conversion.

    A block is the repeat of the one before it if it is equal byte for byte, begins within `within_s` of it,
    and the one before is not a repeat itself. So a level that stands still gives one reading for every two
    blocks, not one for all of them, and a block whose twin was lost is still a reading. Two conversions whose
    blocks an adapter hands over in one bundle may count as one, where they are equal; that costs a witness
    and invents none.
    """

    def __init__(self, within_s: float) -> None:
        self._within_ns = round(within_s * 1e9)
        self._unpaired: Indication | None = None

    def without(self, found: Iterable[Indication]) -> list[Indication]:
        """What of these is no repeat."""
        if not self._within_ns:
            return list(found)
        return [shown for shown in found if not self._repeats(shown)]

    def _repeats(self, shown: Indication) -> bool:
        before = self._unpaired
        repeated = (
            before is not None
            and shown.raw == before.raw
            and shown.monotonic_ns - before.monotonic_ns <= self._within_ns
        )
        self._unpaired = None if repeated else shown
        return repeated
