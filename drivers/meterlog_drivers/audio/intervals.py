"""From blocks of samples to intervals of one length, none of which reaches across a gap. Pure."""

from collections import deque
from collections.abc import Iterator, Sequence

import numpy as np

from meterlog.reading.pcm import Block
from meterlog_drivers.audio.levels import Samples

REMARKS_KEPT = 24
DRIFT = 2e-4
"""Of a device's clock against the computer's, at most: twice that of a bad crystal (common practice)."""


class Intervals:
    """count: samples of each. What was lost is kept as remarks."""

    def __init__(self, count: int) -> None:
        self._count = count
        self._collected: Samples = np.empty(0)
        self._began_ns = 0
        self._next: int | None = None
        self._zero_ns: int | None = None
        self._remarks: deque[str] = deque(maxlen=REMARKS_KEPT)

    def add(self, block: Block, at_ns: int) -> Iterator[tuple[int, Samples]]:
        """The intervals that are whole now, each with when it began. at_ns: when the block was read.

        The beginning is what counts: samples from before the pedal are no evidence of what came after it.
        """
        self._look_for_gap(block)
        at_ns = self._ended_ns(block, at_ns)
        self._next = block.first + block.count
        samples = np.frombuffer(block.data[: block.count * 4], dtype=np.float32).astype(np.float64)
        if not len(self._collected):
            self._began_ns = _before(at_ns, len(samples), block.rate_hz)
        self._collected = np.concatenate([self._collected, samples])
        while len(self._collected) >= self._count:
            interval, self._collected = self._collected[: self._count], self._collected[self._count :]
            began_ns = self._began_ns
            self._began_ns = _before(at_ns, len(self._collected), block.rate_hz)
            if np.all(np.isfinite(interval)):
                yield began_ns, interval
            else:
                self._remarks.append("the device sent what is no number; left out")

    def begin_anew(self) -> None:
        self._collected, self._next, self._zero_ns = np.empty(0), None, None

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
        self._collected, self._zero_ns = np.empty(0), None

    def _ended_ns(self, block: Block, read_ns: int) -> int:
        """When its last sample was taken: the samples are even, and blocks that had to wait are read late. So
        of all that have come since the last gap the one that waited least tells when sample 0 was."""
        seen_ns = _before(read_ns, block.first + block.count, block.rate_hz)
        if self._zero_ns is not None:
            seen_ns = min(seen_ns, self._zero_ns - _before(0, DRIFT * block.count, block.rate_hz))
        self._zero_ns = seen_ns
        return seen_ns - _before(0, block.first + block.count, block.rate_hz)


def _before(at_ns: int, count: float, rate_hz: int) -> int:
    return at_ns - round(count / rate_hz * 1e9) if rate_hz else at_ns
