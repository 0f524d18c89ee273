"""Hundreds of failures of every kind leave no descriptor open.

meshcore_py#95, minimalmodbus#69: one left open for each attempt, and after months nothing opens any more.
"""

import threading
from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

import pytest

from meterlog.bench import LinkState, open_wire
from meterlog.reading import Driver, Line, Meter, Nanoseconds, Settings, Wire
from meterlog.testing import HURRIED, Instrument, Terminal, Witness
from tests.bench.kit import PlainDriver, link_to

pytestmark = pytest.mark.wire

CYCLES = 200


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    with Terminal(tmp_path / "adapter") as one:
        yield one


class Attempts:
    """Opens wires and notes how many descriptors the process has before each."""

    def __init__(self) -> None:
        self.descriptors: list[int] = []
        self._enough = threading.Event()

    def open(self, address: str, line: Line) -> Wire:
        self.descriptors.append(sum(1 for _ in Path("/proc/self/fd").iterdir()))
        if len(self.descriptors) > CYCLES:
            self._enough.set()
        return open_wire(address, line)

    def run(self, address: str, driver: Driver) -> None:
        """Fail CYCLES times, as fast as can be."""
        pace = replace(HURRIED, backoff_first_s=0.0, backoff_last_s=0.0, other_meter_s=0.0, poll_wait_s=0.01)
        witness = Witness()
        link = link_to(address, driver, witness, pace=pace, opener=self.open)
        link.start()
        assert self._enough.wait(60.0), len(self.descriptors)
        assert link.stop(60.0)
        assert LinkState.LOST in witness.states

    def assert_none_left_open(self) -> None:
        """Some may be open at any moment, at the far end too; none may pile up."""
        assert max(self.descriptors[-20:]) <= max(self.descriptors[:20]) + 5


class RefusingDriver(PlainDriver):
    """Asks who is there and then cannot do what the bench file wants."""

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        wire.write(b"who\n")
        raise ValueError("no such range")


def test_a13_two_hundred_failures_to_open_a_port_leave_no_descriptor(tmp_path: Path) -> None:
    attempts = Attempts()
    attempts.run(str(tmp_path / "absent"), PlainDriver())
    attempts.assert_none_left_open()


def test_a13_two_hundred_failures_on_a_port_that_opens_leave_no_descriptor(terminal: Terminal) -> None:
    attempts = Attempts()
    attempts.run(terminal.path, RefusingDriver())
    attempts.assert_none_left_open()


def test_a13_two_hundred_refused_connections_leave_no_descriptor() -> None:
    with Instrument() as instrument:
        address = instrument.address
    attempts = Attempts()
    attempts.run(address, PlainDriver())
    attempts.assert_none_left_open()


def test_a13_two_hundred_failed_handshakes_over_a_socket_leave_no_descriptor() -> None:
    attempts = Attempts()
    with Instrument() as instrument:
        attempts.run(instrument.address, RefusingDriver())
    attempts.assert_none_left_open()


def test_a13_two_hundred_pulled_plugs_leave_no_descriptor(tmp_path: Path) -> None:
    """Unplugged while it is read, and plugged in again."""
    attempts = Attempts()
    stop = threading.Event()

    def pull_and_plug() -> None:
        while not stop.is_set():
            adapter.unplug()
            adapter.plug()
            stop.wait(0.01)

    with Terminal(tmp_path / "adapter") as adapter:
        hand = threading.Thread(target=pull_and_plug)
        hand.start()
        attempts.run(adapter.path, PlainDriver())
        stop.set()
        hand.join()
    attempts.assert_none_left_open()
