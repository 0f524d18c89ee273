"""A specimen on a wire that keeps real time, for what only real threads can show."""

import time

from meterlog.reading import WireLost
from meterlog.testing.specimen import Specimen

BETWEEN_FRAMES_S = 0.05
ANSWER_S = 0.005
LOOK_S = 0.002


class LiveMeter:
    """The far end: one meter, to which wires are opened one after the other. It may hang or be unplugged."""

    def __init__(self, specimen: Specimen) -> None:
        self.specimen = specimen
        self.frames = [row.data for row in specimen.readings]
        self.hanging = False
        self.plugged = True
        self.wire: LiveWire | None = None

    def open(self, *_: object) -> "LiveWire":
        """In place of `meterlog.bench.open_wire`."""
        if not self.plugged:
            raise WireLost("the live wire is unplugged")
        self.wire = LiveWire(self)
        return self.wire


class LiveWire:
    """See `meterlog.reading.Wire`."""

    def __init__(self, meter: LiveMeter) -> None:
        self._meter = meter
        self._answers = meter.specimen.answers()
        self._due: list[tuple[float, bytes]] = []
        self._next_s = time.monotonic() + BETWEEN_FRAMES_S
        self._sent = 0

    def read(self, wait_s: float) -> bytes:
        end_s = time.monotonic() + wait_s
        while not (came := self._take()) and time.monotonic() < end_s:
            time.sleep(LOOK_S)
        return came

    def write(self, data: bytes) -> None:
        self._insist_plugged()
        specimen = self._meter.specimen
        answer = self._frame() if data == specimen.question else self._answers(data)
        if answer and not self._meter.hanging:
            self._due.append((time.monotonic() + ANSWER_S, answer))

    def drop_input(self) -> None:
        self._take()

    def close(self) -> None:
        self._due.clear()

    def _take(self) -> bytes:
        self._insist_plugged()
        now_s = time.monotonic()
        if self._meter.specimen.talks and now_s >= self._next_s:
            self._next_s = now_s + BETWEEN_FRAMES_S
            return b"" if self._meter.hanging else self._frame()
        came = b"".join(data for at_s, data in self._due if at_s <= now_s)
        self._due = [(at_s, data) for at_s, data in self._due if at_s > now_s]
        return came

    def _frame(self) -> bytes:
        self._sent += 1
        return self._meter.frames[self._sent % len(self._meter.frames)]

    def _insist_plugged(self) -> None:
        if not self._meter.plugged or self._meter.wire is not self:
            raise WireLost("the live wire was unplugged")
