"""A link over faults of the line: silence, another meter, stopping, hundreds of failures without a leak.

Letters and numbers only tell faults apart.
"""

import itertools
import threading
import time
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from meterlog.bench import LinkState
from meterlog.testing import HURRIED, Instrument, Numbered, Terminal, Witness
from meterlog_drivers.handheld import fs9721
from meterlog_drivers.scpi import driver as scpi
from tests.bench.kit import PlainDriver, link_to
from tests.drivers.fake_meter import FakeMeter

pytestmark = pytest.mark.wire

FRAME = bytes.fromhex("1720354D5B617F8297A0B0C0D4E0")
"""1.234 V DC: row fs9721-01 of tests/drivers/vectors/fs9721.csv."""
CYCLES = 200


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    with Terminal(tmp_path / "adapter") as one:
        yield one


def test_a2_a_meter_that_falls_silent_is_stale_and_its_last_value_is_not_repeated(terminal: Terminal) -> None:
    witness = Witness()
    link = link_to(terminal.path, fs9721.driver, witness)
    link.start()
    with terminal.talking(FRAME):
        witness.wait_for_readings(3)
    terminal.send(FRAME[:9])
    stale = witness.wait_for_state(LinkState.STALE)
    assert "has it switched itself off?" in stale.text
    with terminal.talking(FRAME):
        witness.wait_for(lambda: witness.states[-1] is LinkState.LIVE)
    assert link.stop(60.0)
    assert [one.state for one in witness.statuses].count(LinkState.STALE) == 1
    assert {one.value for one in witness.readings} == {1.234}
    dates_ns = [one.monotonic_ns for one in witness.readings]
    gap_s = max(later - earlier for earlier, later in itertools.pairwise(dates_ns)) / 1e9
    assert gap_s > HURRIED.stale_least_s, "nothing was given while the meter was silent"


def test_a1_an_adapter_pulled_and_plugged_in_is_found_again(terminal: Terminal) -> None:
    witness = Witness()
    link = link_to(terminal.path, fs9721.driver, witness)
    link.start()
    with terminal.talking(FRAME):
        witness.wait_for_readings(1)
        terminal.unplug()
        lost = witness.wait_for_state(LinkState.LOST)
        assert "unplugged?" in lost.text
        witness.wait_for(lambda: "is not there" in witness.statuses[-1].text)
        terminal.plug()
        witness.wait_for_readings(1)
    assert link.stop(60.0)
    assert witness.states[-2:] == [LinkState.LOST, LinkState.LIVE]


def test_a9_what_a_modem_service_writes_after_plugging_in_is_no_reading(terminal: Terminal) -> None:
    witness = Witness()
    link = link_to(terminal.path, fs9721.driver, witness)
    link.start()
    with terminal.talking(b"AT\r\nATZ\r\n" + FRAME + FRAME[:5]):
        witness.wait_for_readings(5)
    assert link.stop(60.0)
    assert {one.value for one in witness.readings} == {1.234}


def test_a3_a_serial_instrument_that_babbles_is_lost_and_can_be_stopped(terminal: Terminal) -> None:
    witness = Witness()
    stop = threading.Event()

    def babble() -> None:
        while not stop.wait(0.05):
            terminal.send(b"x")

    babbler = threading.Thread(target=babble)
    babbler.start()
    link = link_to(terminal.path, scpi.driver, witness)
    link.start()
    witness.wait_for_state(LinkState.LOST)
    assert link.stop(60.0)
    stop.set()
    babbler.join()
    assert witness.readings == []


def test_a4_stopping_in_the_middle_of_a_read_two_hundred_times_breaks_nothing(terminal: Terminal) -> None:
    """pyserial#713, #712: a close from another thread ended the reader by a TypeError, or read another file.

    An error in a thread fails the test by itself (warnings are errors).
    """
    pace = replace(HURRIED, poll_wait_s=0.01)
    for number in range(CYCLES):
        witness = Witness()
        link = link_to(terminal.path, PlainDriver(), witness, pace=pace)
        link.start()
        if number % 2:
            witness.wait_for_identity()
        assert link.stop(60.0)
        assert LinkState.LOST not in witness.states


def test_a8_another_meter_on_a_known_port_gives_no_reading(terminal: Terminal) -> None:
    """Swapped while it was unplugged; the first one back is taken again."""
    witness = Witness()
    link = link_to(terminal.path, PlainDriver(asks=True), witness)
    link.start()
    _answer(terminal, b"first\n1.0\n")
    witness.wait_for_readings(1)
    _swap_and_answer(terminal, b"second\n666.0\n")
    witness.wait_for(lambda: "another meter answers" in witness.statuses[-1].text)
    assert link.status.state is LinkState.LOST
    assert link.status.text == 'another meter answers: "second"; it was "first": plug that one in again'
    _swap_and_answer(terminal, b"first\n2.0\n")
    witness.wait_for_readings(1)
    assert link.stop(60.0)
    assert [one.value for one in witness.readings] == [1.0, 2.0]


def _swap_and_answer(terminal: Terminal, answer: bytes) -> None:
    terminal.unplug()
    terminal.plug()
    _answer(terminal, answer)


def _answer(terminal: Terminal, answer: bytes) -> None:
    assert terminal.heard(60.0) == b"who\n"
    terminal.send(answer)


def test_a8_another_scpi_instrument_at_a_known_address_gives_no_reading() -> None:
    meter = FakeMeter(Numbered())
    witness = Witness()
    with Instrument(meter) as instrument:
        link = link_to(instrument.address, scpi.driver, witness)
        link.start()
        witness.wait_for_readings(2)
        meter.identity = "ACME,M1,999,1.0"
        instrument.hang_up()
        witness.wait_for(lambda: "another meter answers" in witness.statuses[-1].text)
        held, asked, met = len(witness.readings), meter.heard.count("READ?"), meter.heard.count("*IDN?")
        while meter.heard.count("*IDN?") < met + 3:
            time.sleep(0.01)
        assert (len(witness.readings), meter.heard.count("READ?")) == (held, asked)
        meter.identity = "ACME,M1,123,1.1"  # the first, with new firmware
        witness.wait_for_readings(2)
        assert link.stop(60.0)
    assert witness.states[-2:] == [LinkState.LOST, LinkState.LIVE]


def test_the_wrong_instrument_is_not_set_up_at_all() -> None:
    """The bench file says which it means; the driver is told before it sends a setting."""
    meter = FakeMeter(Numbered())
    witness = Witness()
    with Instrument(meter) as instrument:
        link = link_to(instrument.address, scpi.driver, witness, identity="OTHER")
        link.start()
        lost = witness.wait_for_state(LinkState.LOST)
        assert link.stop(60.0)
    assert '"OTHER"' in lost.text
    assert [line for line in meter.heard if line.startswith(("CONF", "VOLT", "READ"))] == []
