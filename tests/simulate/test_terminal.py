"""The pseudo-terminal: a lead that can be pulled, and that never makes the meter wait."""

import os
from collections.abc import Iterator
from pathlib import Path

import pytest

from meterlog.simulate.terminal import Terminal
from tests.simulate.wires import quiet, read, reader

pytestmark = pytest.mark.wire


@pytest.fixture
def terminal(tmp_path: Path) -> Iterator[Terminal]:
    terminal = Terminal(tmp_path / "meter")
    terminal.open()
    yield terminal
    terminal.close()


def test_bytes_go_through_unchanged(terminal: Terminal) -> None:
    every = bytes(range(256))
    with reader(terminal.link) as port:
        for byte in every:
            terminal.send(bytes([byte]))
        assert read(port, 256) == every


def test_without_a_reader_nothing_waits_and_nothing_is_kept(terminal: Terminal) -> None:
    for _ in range(200):
        terminal.send(b"old " * 256)
    with reader(terminal.link) as port:
        assert quiet(port, 0.2)
        terminal.send(b"new")
        assert read(port, 3) == b"new"


def test_a_reader_that_sleeps_does_not_stop_the_meter(terminal: Terminal) -> None:
    with reader(terminal.link) as port:
        for _ in range(5000):
            terminal.send(b"0123456789")
        assert read(port, 10) == b"0123456789"


def test_commands_from_the_far_end_are_swallowed(terminal: Terminal) -> None:
    port = os.open(terminal.link, os.O_RDWR | os.O_NOCTTY)
    try:
        for _ in range(50):
            os.write(port, b"*IDN?\r\n" * 100)
            terminal.send(b"x")
        assert read(port, 50) == b"x" * 50
    finally:
        os.close(port)


def test_pulled_lead_is_noticed_and_another_comes_under_the_same_name(terminal: Terminal) -> None:
    with reader(terminal.link) as port:
        terminal.close()
        with pytest.raises(OSError):  # noqa: PT011 - which one is the system's choice
            read(port, 1)
        assert not terminal.link.exists()
        terminal.send(b"to nobody")
        terminal.open()
    with reader(terminal.link) as port:
        terminal.send(b"again")
        assert read(port, 5) == b"again"


def test_plugging_twice_and_pulling_twice_is_the_same_as_once(terminal: Terminal) -> None:
    target = terminal.link.readlink()
    terminal.open()
    assert terminal.link.readlink() == target
    terminal.close()
    terminal.close()
    assert not terminal.is_open


def test_no_descriptor_is_left_behind(terminal: Terminal) -> None:
    count = len(os.listdir("/proc/self/fd"))  # noqa: PTH208
    for _ in range(200):
        terminal.close()
        terminal.open()
    assert len(os.listdir("/proc/self/fd")) == count  # noqa: PTH208
