"""What the tests of buffered readings share."""

from collections.abc import Sequence

from meterlog.reading import Indication, Meter, Options, Remarks, Settings
from meterlog.testing import FakeClock, FakeWire
from meterlog_drivers.scpi.driver import driver
from tests.drivers.fake_memory import FakeMemory

BUFFERED: Options = {"buffered": True}
WAIT_S = 0.25


def connected(
    fake: FakeMemory, clock: FakeClock, dialect: str = "memory-band", options: Options = BUFFERED
) -> tuple[Meter, FakeWire]:
    wire = FakeWire(clock, fake)
    return driver.connect(wire, Settings(dialect=dialect, options=options), clock), wire


def polled(meter: Meter, clock: FakeClock, seconds: float) -> list[Indication]:
    until_ns = clock.now_ns + round(seconds * 1e9)
    found: list[Indication] = []
    while clock.now_ns < until_ns:
        shown = meter.poll(WAIT_S)
        assert all(one.monotonic_ns <= clock.now_ns for one in shown), "never in the future"
        found += shown
        clock.pass_s(0.005)
    return found


def values(found: Sequence[Indication]) -> list[float | None]:
    return [one.value for one in found]


def remarks(meter: Meter) -> Sequence[str]:
    assert isinstance(meter, Remarks)
    return meter.remarks()
