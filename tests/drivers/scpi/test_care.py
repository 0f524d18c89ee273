"""What a meter says of itself beside its readings, without costing readings."""

from collections.abc import Sequence

import pytest

from meterlog.reading import Coupling, Meter, Remarks, Settings, Unanswered
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.scpi.care import EVERY_S, NO_STATUS, REMARKS_KEPT
from meterlog_drivers.scpi.driver import driver
from meterlog_drivers.scpi.meter import SWITCHED_ON
from tests.drivers.fake_meter import FakeMeter


def connected(fake: FakeMeter) -> tuple[Meter, FakeClock]:
    clock = FakeClock()
    return driver.connect(FakeWire(clock, fake), Settings(coupling=Coupling.AC), clock), clock


def remarks(meter: Meter) -> Sequence[str]:
    assert isinstance(meter, Remarks)
    return meter.remarks()


def poll(meter: Meter, times: int) -> int:
    return sum(len(meter.poll(1.0)) for _ in range(times))


def test_entries_of_the_error_queue_become_remarks() -> None:
    fake = FakeMeter()
    meter, _ = connected(fake)
    poll(meter, 3)
    fake.errors = ['-222,"Data out of range"', '+550,"Something of the maker\'s own"']
    poll(meter, 20)
    assert remarks(meter) == [
        "the meter reports -222 Data out of range",
        "the meter reports 550 Something of the maker's own",
    ]
    assert remarks(meter) == [], "each is told once"


def test_the_status_byte_is_asked_rarely_and_the_queue_only_if_it_says_so() -> None:
    """Bit 2: SCPI-1999 vol. 1, 9 (from memory)."""
    fake = FakeMeter()
    meter, clock = connected(fake)
    fake.heard.clear()
    began_ns = clock.now_ns
    readings = poll(meter, 100)
    took_s = (clock.now_ns - began_ns) / 1e9
    assert readings == 100
    assert fake.heard.count("*STB?") <= took_s / EVERY_S + 1
    assert "SYST:ERR?" not in fake.heard
    assert took_s < 100 * 0.352 * 1.005, "half a percent of the time at most, beside the look at the panel"


def test_a_queue_that_never_ends_does_not_fill_the_remarks() -> None:
    fake = FakeMeter()
    meter, _ = connected(fake)
    fake.errors = [f'-222,"Data out of range;{n}"' for n in range(39)]
    poll(meter, 20)
    fake.errors = [f'-222,"Data out of range;{n}"' for n in range(39)]
    poll(meter, 20)
    assert len(remarks(meter)) == REMARKS_KEPT


def test_a_meter_switched_off_and_on_between_two_readings_is_set_up_again() -> None:
    """Bit 7 of *ESR?: IEEE 488.2, 11.5.1."""
    fake = FakeMeter()
    meter, _ = connected(fake)
    poll(meter, 3)
    fake.events = 128
    poll(meter, 20)
    assert fake.heard.count("CONF:VOLT:AC") == 2
    assert remarks(meter) == [SWITCHED_ON]


def test_errors_of_setting_it_up_are_not_told_again() -> None:
    """The event register still remembers the two commands that were tried in vain; the queue is empty."""
    fake = FakeMeter()
    fake.known = ("CONF:", "DET:BAND ", "*CLS")
    clock = FakeClock()
    settings = Settings(coupling=Coupling.AC, ac_filter_hz=20.0)
    meter = driver.connect(FakeWire(clock, fake), settings, clock)
    fake.events = 32
    poll(meter, 20)
    assert remarks(meter) == []


def test_a_meter_that_knows_no_status_byte_is_asked_for_it_once() -> None:
    """Nothing comes, and it costs one time-out, not one every five seconds."""

    class Silent(FakeMeter):
        def __call__(self, line: bytes) -> Chunks:
            return () if line == b"*STB?\n" else super().__call__(line)

    fake = Silent()
    meter, clock = connected(fake)
    with pytest.raises(Unanswered):
        poll(meter, 30)
    meter.resynchronise()
    began_ns = clock.now_ns
    poll(meter, 60)
    assert (clock.now_ns - began_ns) / 1e9 < 60 * 0.36
    assert remarks(meter) == [NO_STATUS]
