"""Drivers that are wrong, each in one way: those of `example_meter` and `asked_toy`, with a fault."""

import os
import threading
import time
from collections.abc import Sequence
from dataclasses import replace

from meterlog.reading import (
    Identity,
    Indication,
    Meter,
    Nanoseconds,
    Settings,
    Unanswered,
    Wire,
    WireLost,
    WrongMeter,
)
from meterlog.testing import Specimen
from tests.outside.example import example_meter
from tests.outside.example.example_meter import Decoder, ExampleDriver, ExampleMeter
from tests.testing.asked_toy import AskedToy
from tests.testing.rows import ROWS

KEPT: list[bytes] = []


class Repeats(ExampleMeter):
    """Gives the last value again when nothing comes."""

    last: Sequence[Indication] = ()

    def poll(self, wait_s: float) -> Sequence[Indication]:
        self.last = super().poll(wait_s) or self.last
        return self.last


class HidesLoss(ExampleMeter):
    def poll(self, wait_s: float) -> Sequence[Indication]:
        try:
            return super().poll(wait_s)
        except WireLost as error:
            raise Unanswered("nothing came") from error


class SwallowsLoss(ExampleMeter):
    def poll(self, wait_s: float) -> Sequence[Indication]:
        try:
            return super().poll(wait_s)
        except WireLost:
            return ()


class ConnectsToAnything(ExampleMeter):
    """Opened is connected."""

    def __init__(self, wire: Wire, monotonic_ns: Nanoseconds) -> None:
        self.identity = example_meter.IDENTITY
        self.period_s = 0.5
        self._wire = wire
        self._monotonic_ns = monotonic_ns
        self._decoder = Decoder()
        self._kept = []


class CountsBytes(ExampleMeter):
    """A line is what fourteen bytes are."""

    counted = b""

    def listen(self, wait_s: float) -> list[Indication]:
        self.counted += self._wire.read(wait_s)
        found = []
        while len(self.counted) >= example_meter.LINE_BYTES:
            line, self.counted = self.counted[:14], self.counted[14:]
            found.append(example_meter.decode(line, self._monotonic_ns()))
        return [shown for shown in found if shown]


class Overstays(ExampleMeter):
    """Waits for a whole line, whatever comes."""

    def poll(self, wait_s: float) -> Sequence[Indication]:
        return super().poll(max(wait_s, 5.0))


class ForgetsWhatIsCut(ExampleMeter):
    def listen(self, wait_s: float) -> list[Indication]:
        self._decoder = Decoder()
        return self._decoder.feed(self._wire.read(wait_s), self._monotonic_ns())


class DatesByTheEnd(ExampleMeter):
    def poll(self, wait_s: float) -> Sequence[Indication]:
        return [replace(shown, monotonic_ns=self._monotonic_ns()) for shown in super().poll(wait_s)]


class NoSum(ExampleMeter):
    """Takes what stands behind the last sign for a number, sum or not."""

    def listen(self, wait_s: float) -> list[Indication]:
        data = self._wire.read(wait_s)
        text = bytes(byte for byte in data[-12:-5] if byte in b"+-.0123456789")
        template = example_meter.decode(b"$V+1.2345*62\r\n", self._monotonic_ns())
        assert template
        try:
            return [replace(template, value=float(text), resolution=0.0001)] if data else []
        except ValueError:
            return []


class Chokes(ExampleMeter):
    def listen(self, wait_s: float) -> list[Indication]:
        if self._decoder.nonsense > 5:
            raise KeyError("no such byte")
        return super().listen(wait_s)


class ClosesTheWire(ExampleMeter):
    def close(self) -> None:
        self._wire.close()


class Sleeps(ExampleMeter):
    def poll(self, wait_s: float) -> Sequence[Indication]:
        time.sleep(0.0)
        return super().poll(wait_s)


class StartsThreads(ExampleMeter):
    def close(self) -> None:
        thread = threading.Thread(target=lambda: None)
        thread.start()
        thread.join()


class LeavesDescriptors(ExampleMeter):
    def close(self) -> None:
        KEPT.append(os.open(os.devnull, os.O_RDONLY).to_bytes(2, "big"))


class LeavesMemory(ExampleMeter):
    def close(self) -> None:
        KEPT.append(os.urandom(1000))


class KeepsAll(ExampleMeter):
    def listen(self, wait_s: float) -> list[Indication]:
        KEPT.append(os.urandom(1 << 16))
        return super().listen(wait_s)


class Spins(ExampleMeter):
    def poll(self, wait_s: float) -> Sequence[Indication]:
        while not (found := self._decoder.feed(self._wire.read(0.0), self._monotonic_ns())):
            pass
        return found


class Hangs(ExampleMeter):
    """In real time, while the far end does."""

    def poll(self, wait_s: float) -> Sequence[Indication]:
        end_s = time.monotonic() + 3.0
        while not (found := super().poll(0.01)) and time.monotonic() < end_s:
            pass
        return found


class SaysNothing(ExampleDriver):
    summary = ""


class AnyIdentity(ExampleDriver):
    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        known = {key: value for key, value in settings.options.items() if key != "identity"}
        return super().connect(wire, replace(settings, options=known), monotonic_ns)


class AnyOption(ExampleDriver):
    def check(self, settings: Settings) -> None:
        super().check(replace(settings, options={}))


class OddError(ExampleDriver):
    def check(self, settings: Settings) -> None:
        if settings.dialect:
            raise LookupError(settings.dialect)
        super().check(settings)


class OnlyOnce(ExampleDriver):
    """Holds on to its first wire."""

    first: Meter | None = None

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        self.first = self.first or super().connect(wire, settings, monotonic_ns)
        return self.first


class TakesLate(AskedToy):
    """Asks again at once after an answer that did not come."""

    connected = False

    def resynchronise(self) -> None:
        if not self.connected:
            super().resynchronise()
        self.connected = True


class TakesCut(AskedToy):
    def indication(self, content: bytes, at_ns: int) -> Indication:
        return super().indication(content.ljust(7, b"0") if content[2:3] == b"." else content, at_ns)

    def give_up(self, heard: bytes) -> bytes:
        return heard or super().give_up(heard)


class Hurries(AskedToy):
    def rest(self) -> None:
        pass


class SameIdentity(AskedToy):
    def resynchronise(self) -> None:
        super().resynchronise()
        self.identity = Identity(text="TOY")


class OfKind(ExampleDriver):
    """The good driver with a meter that is wrong."""

    def __init__(self, kind: type[ExampleMeter]) -> None:
        self._kind = kind

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        self.check(settings)
        if settings.options.get("identity", "example") != "example":
            raise WrongMeter("no other identity")
        return self._kind(wire, monotonic_ns)


def talking(kind: type[ExampleMeter], base: type[ExampleDriver] = ExampleDriver) -> Specimen:
    driver = base() if kind is ExampleMeter else OfKind(kind)
    return Specimen(driver=driver, rows=ROWS, period_s=0.5, longest_s=4.0)
