"""One sound device on its wire: who it is, and the blocks that it gives."""

import math
from collections.abc import Iterator

from meterlog.reading import Garbled, Identity, Nanoseconds, Unanswered, Wire
from meterlog.reading.pcm import Block, Blocks, Kind

PATIENCE_S = 3.0


class Device:
    """Its first block says who it is and at what rate it samples. Raises WireLost, Unanswered, Garbled."""

    def __init__(self, wire: Wire, monotonic_ns: Nanoseconds) -> None:
        self._wire = wire
        self._blocks = Blocks()
        self.monotonic_ns = monotonic_ns
        about = self._await(Kind.TEXT)
        if not about.rate_hz:
            raise Garbled("the sound device does not say its sample rate")
        self.identity = Identity(text=about.data.decode("utf-8", "replace"))
        self.rate_hz = about.rate_hz

    @property
    def band_hz(self) -> float:
        """Up to where the filters of converters pass (common practice)."""
        return math.floor(0.45 * self.rate_hz)

    def listen(self, wait_s: float) -> Iterator[Block]:
        """Samples that have come."""
        blocks = self._blocks.feed(self._wire.read(wait_s))
        return (block for block in blocks if block.kind is Kind.SAMPLES)

    def play(self, block: Block) -> Block:
        """What it has begun to play then."""
        self.forget()
        self._wire.write(block.packed())
        return self._await(Kind.SAMPLES)

    def forget(self) -> None:
        """What has come and was not listened to."""
        self._wire.drop_input()

    def _await(self, kind: Kind) -> Block:
        deadline_ns = self.monotonic_ns() + round(PATIENCE_S * 1e9)
        while (left_ns := deadline_ns - self.monotonic_ns()) > 0:
            for block in self._blocks.feed(self._wire.read(left_ns / 1e9)):
                if block.kind is kind:
                    return block
        raise Unanswered(f"the sound device has given nothing for {PATIENCE_S:g} s")
