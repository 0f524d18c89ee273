"""A wire whose far end says XOFF when it wants no more, and XON when it does again (ISO/IEC 646 DC3, DC1)."""

import time

from meterlog.reading import Nanoseconds, Unanswered, Wire

XON, XOFF = 0x11, 0x13
PATIENCE_S = 10.0
"""A meter may hold off for as long as it measures."""


class HeldOffWire:
    """See `meterlog.reading.Wire`; XON and XOFF are taken out of what is read.

    Not left to the port: that would take what is written at once and send it later, and a question would be
    dated by when nobody heard it.
    """

    def __init__(self, wire: Wire, monotonic_ns: Nanoseconds = time.monotonic_ns) -> None:
        self._wire = wire
        self._monotonic_ns = monotonic_ns
        self._held = False
        self._kept = b""

    def read(self, wait_s: float) -> bytes:
        if self._kept:
            kept, self._kept = self._kept, b""
            return kept
        until_ns = self._monotonic_ns() + round(wait_s * 1e9)
        data = self._heard(wait_s)
        while not data and (left_ns := until_ns - self._monotonic_ns()) > 0:
            data = self._heard(left_ns / 1e9)  # an XON alone is no silence
        return data

    def write(self, data: bytes) -> None:
        """Raises Unanswered too, if the far end does not let go in time."""
        self._kept += self._heard(0.0)
        deadline_ns = self._monotonic_ns() + round(PATIENCE_S * 1e9)
        while self._held:
            if (left_ns := deadline_ns - self._monotonic_ns()) <= 0:
                raise Unanswered(f"the meter held off (XOFF) for {PATIENCE_S:g} s; is its buffer stuck?")
            self._kept += self._heard(left_ns / 1e9)
        self._wire.write(data)

    def drop_input(self) -> None:
        self._kept = b""
        self._held = False
        self._wire.drop_input()

    def close(self) -> None:
        self._wire.close()

    def _heard(self, wait_s: float) -> bytes:
        data = self._wire.read(wait_s)
        for byte in data:
            self._held = byte == XOFF if byte in (XON, XOFF) else self._held
        return data.translate(None, bytes((XON, XOFF)))
