"""On RS-232: never a message while an answer is due, never more than the meter's input takes, Ctrl-C, remote.

From the manual of a bench meter of the 1990s: about 100 characters wait in its input; it obeys nothing before
SYST:REM; Ctrl-C is its device clear.
"""

import pytest

from meterlog.reading import Coupling, Settings, Unanswered
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.scpi.conversation import INPUT_CHARACTERS, Conversation
from meterlog_drivers.scpi.driver import driver
from tests.drivers.fake_meter import CTRL_C, FakeMeter

SERIAL = Settings(coupling=Coupling.AC, ac_filter_hz=20.0, dialect="serial-remote")


class StrictMeter(FakeMeter):
    """Fails the test if it is spoken to while it has still to answer, or its input would run over."""

    def __init__(self, clock: FakeClock) -> None:
        super().__init__()
        self.known = [*self.known, "DET:BAND "]
        self.unread = 0
        self._clock = clock
        self._busy_until_ns = 0

    def __call__(self, line: bytes) -> Chunks:
        assert self._clock.now_ns >= self._busy_until_ns or line == CTRL_C.encode(), "an answer is still due"
        chunks = super().__call__(line)
        self.unread = 0 if chunks else self.unread + len(line)
        assert self.unread <= INPUT_CHARACTERS
        self._busy_until_ns = self._clock.now_ns + round(sum(after_s for after_s, _ in chunks) * 1e9)
        return chunks


def test_half_duplex_and_short_messages() -> None:
    clock = FakeClock()
    fake = StrictMeter(clock)
    meter = driver.connect(FakeWire(clock, fake), SERIAL, clock)
    for _ in range(50):
        meter.poll(1.0)
    meter.resynchronise()
    meter.close()
    assert fake.heard[-1] == "SYST:LOC"


def test_remote_comes_before_all_else_and_ctrl_c_before_that() -> None:
    clock, fake = FakeClock(), FakeMeter()
    fake.known = [*fake.known, "DET:BAND "]
    wire = FakeWire(clock, fake)
    driver.connect(wire, SERIAL, clock)
    assert wire.written[:2] == [b"\x03", b"SYST:REM\n"]


def test_an_answer_that_stays_away_is_stopped_by_ctrl_c() -> None:
    clock, fake = FakeClock(), FakeMeter(lambda: ())
    fake.known = [*fake.known, "DET:BAND "]
    wire = FakeWire(clock, fake)
    meter = driver.connect(wire, SERIAL, clock)
    with pytest.raises(Unanswered):
        meter.poll(1.0)
    before = len(wire.written)
    meter.resynchronise()
    assert wire.written[before : before + 2] == [b"\x03", b"*IDN?\n"]


def test_commands_without_answers_do_not_pile_up() -> None:
    clock, fake = FakeClock(), FakeMeter()
    conversation = Conversation(FakeWire(clock, fake), clock)
    for _ in range(30):
        conversation.tell("CONF:VOLT:DC 1000,0.001")
    unread = longest = 0
    for message in fake.heard:
        unread = 0 if message.endswith("?") else unread + len(message) + 1
        longest = max(longest, unread)
    assert longest <= INPUT_CHARACTERS
