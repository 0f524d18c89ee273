"""A wire that counts what comes, to tell a dead line from one that sends what no driver understands."""

from collections.abc import Callable

from meterlog.reading import Wire


class CountedWire:
    """See `meterlog.reading.Wire`; `count` is told of every piece received, in bytes."""

    def __init__(self, wire: Wire, count: Callable[[int], None]) -> None:
        self._wire = wire
        self._count = count
        self.write = wire.write
        self.drop_input = wire.drop_input
        self.close = wire.close

    def read(self, wait_s: float) -> bytes:
        data = self._wire.read(wait_s)
        self._count(len(data))
        return data
