"""From blocks of samples to intervals of one length, none of which reaches across a gap. Pure."""

from collections import deque
from collections.abc import Iterator, Sequence

import numpy as np

from meterlog.reading.pcm import Block
from meterlog_drivers.audio.levels import Samples

REMARKS_KEPT = 24


class Intervals:
    """count: samples of each. What was lost is kept as remarks."""

    def __init__(self, count: int) -> None:
        self._count = count
        self._collected: Samples = np.empty(0)
        self._next: int | None = None
        self._remarks: deque[str] = deque(maxlen=REMARKS_KEPT)

    def add(self, block: Block) -> Iterator[Samples]:
        """The intervals that are whole now."""
        self._look_for_gap(block)
        self._next = block.first + block.count
        samples = np.frombuffer(block.data[: block.count * 4], dtype=np.float32).astype(np.float64)
        self._collected = np.concatenate([self._collected, samples])
        while len(self._collected) >= self._count:
            interval, self._collected = self._collected[: self._count], self._collected[self._count :]
            if np.all(np.isfinite(interval)):
                yield interval
            else:
                self._remarks.append("the device sent what is no number; left out")

    def begin_anew(self) -> None:
        self._collected, self._next = np.empty(0), None

    def remarks(self) -> Sequence[str]:
        said = tuple(self._remarks)
        self._remarks.clear()
        return said

    def _look_for_gap(self, block: Block) -> None:
        hole = 0 if self._next is None else block.first - self._next
        if not (hole or block.missed):
            return
        what = f"{hole} samples were lost" if hole > 0 else "the device lost samples"
        self._remarks.append(f"{what}; what was measured across the gap is left out")
        self._collected = np.empty(0)
