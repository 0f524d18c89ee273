"""Readings that wait in a meter's memory, when something goes wrong: a gap and a remark, never silence."""

import pytest

from meterlog.reading import Garbled, Settings, Unanswered
from meterlog.testing import FakeClock, FakeWire
from meterlog_drivers.scpi.buffered import OVERFLOWED, STARTED_ANEW
from meterlog_drivers.scpi.driver import driver
from tests.drivers.fake_memory import FakeMemory
from tests.drivers.scpi.buffered_kit import connected, polled, remarks, values


def test_an_answer_that_is_only_late_is_not_taken_for_an_empty_memory() -> None:
    clock = FakeClock()
    fake = FakeMemory(clock, 0.02, empty=None)
    fake.transfer_s = 0.6
    meter, _ = connected(fake, clock, "memory-silent")
    with pytest.raises((Unanswered, Garbled)):
        polled(meter, clock, 2.0)


@pytest.mark.parametrize(("dialect", "bit"), [("memory-band", 14), ("remove-band", 12)])
def test_what_the_memory_could_not_hold_is_told_and_leaves_a_gap(dialect: str, bit: int) -> None:
    """Overwritten readings: bit 14 of the questionable register in two families, bit 12 in two others."""
    clock = FakeClock()
    fake = FakeMemory(clock, 0.001, holds=512, bit=bit)
    meter, _ = connected(fake, clock, dialect)
    before = polled(meter, clock, 1.0)
    clock.pass_s(3.0)
    after = polled(meter, clock, 1.0)
    assert remarks(meter) == [OVERFLOWED]
    assert before[-1].value is not None
    assert after[0].value is not None
    assert after[0].value > before[-1].value + 512
    assert after[0].monotonic_ns - before[-1].monotonic_ns > 2_900_000_000
    numbers = [value for value in values(after) if value is not None]
    assert numbers == [after[0].value + n for n in range(len(after))]


NO_REGISTER = """
like = "band"
summary = "a memory of 512 and no bit that tells of overwritten readings"
[memory]
arm = ["INIT"]
question = "R? {most}"
holds = 512
"""


def test_without_a_register_it_is_told_by_the_time_that_passed(
    tmp_path_factory: pytest.TempPathFactory,
) -> None:
    path = tmp_path_factory.mktemp("dialect") / "no-register.toml"
    path.write_text(NO_REGISTER)
    clock = FakeClock()
    fake = FakeMemory(clock, 0.001, holds=512)
    meter, _ = connected(fake, clock, str(path))
    before = polled(meter, clock, 1.0)
    clock.pass_s(3.0)
    after = polled(meter, clock, 1.0)
    assert remarks(meter) == [OVERFLOWED]
    assert after[0].monotonic_ns - before[-1].monotonic_ns > 2_900_000_000


def test_a_meter_that_does_not_go_on_is_told() -> None:
    clock = FakeClock()
    fake = FakeMemory(clock, 0.02, ends=10)
    meter, _ = connected(fake, clock)
    with pytest.raises(Unanswered, match="no new reading in the meter's memory"):
        polled(meter, clock, 5.0)
    meter.resynchronise()
    assert len(polled(meter, clock, 1.0)) == 10
    assert remarks(meter) == [STARTED_ANEW]


def test_a_damaged_block_loses_what_was_in_it_and_says_so() -> None:
    clock = FakeClock()
    fake = FakeMemory(clock, 0.02)
    meter, wire = connected(fake, clock)
    polled(meter, clock, 1.0)
    wire.send([(0.0, b"+1.0\n")])
    with pytest.raises(Garbled):
        polled(meter, clock, 1.0)
    meter.resynchronise()
    found = polled(meter, clock, 1.0)
    assert values(found) == [found[0].value + n for n in range(len(found))]  # type: ignore[operator]
    assert remarks(meter) == [STARTED_ANEW]


def test_a_meter_switched_off_and_on_is_set_up_again() -> None:
    clock = FakeClock()
    fake = FakeMemory(clock, 0.02)
    meter, _ = connected(fake, clock)
    polled(meter, clock, 1.0)
    fake.events = 128
    polled(meter, clock, 6.0)
    assert fake.heard.count("CONF:VOLT:DC") == 2
    assert "switched off and on" in " ".join(remarks(meter))


def test_a_meter_that_was_left_measuring_without_end_is_stopped_and_taken_over() -> None:
    """It may keep the answer to *OPC? back for ever; whoever had it before did not say goodbye."""
    clock = FakeClock()
    fake = FakeMemory(clock)
    connected(fake, clock)
    meter = driver.connect(FakeWire(clock, fake), Settings(), clock)
    assert [shown.value for shown in meter.poll(1.0)] == [1.0]
