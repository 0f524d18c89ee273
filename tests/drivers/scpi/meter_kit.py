"""What the tests of the SCPI meter share."""

from collections.abc import Iterator

from meterlog.reading import (
    Coupling,
    Meter,
    Settings,
)
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.scpi.driver import driver
from tests.drivers.fake_meter import FakeMeter

AC = Settings(coupling=Coupling.AC)


def connected(fake: FakeMeter, settings: Settings = AC) -> tuple[Meter, FakeWire]:
    clock = FakeClock()
    wire = FakeWire(clock, fake)
    return driver.connect(wire, settings, clock), wire


def answering(*answers: Chunks) -> FakeMeter:
    queue: Iterator[Chunks] = iter(answers)
    return FakeMeter(lambda: next(queue))


def at_once(data: bytes) -> Chunks:
    return [(0.1, data)]
