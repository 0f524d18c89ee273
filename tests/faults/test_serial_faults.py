"""What breaks on a serial line, provoked on pseudo-terminals. Letters and numbers only tell faults apart.

Sources: reports in pyserial's public tracker, named by number; each was seen again on Linux.
"""

import errno
import fcntl
import os
import threading
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from types import SimpleNamespace

import pytest
import serial

from meterlog.bench.wires import serial_wire
from meterlog.bench.wires.serial_wire import SerialWire
from meterlog.reading import Line, WireLost
from meterlog.testing import Terminal

pytestmark = pytest.mark.wire

LONG_S = 30.0
TIOCGEXCL = 0x80045440
"""asm-generic/ioctls.h of Linux: reads whether TIOCEXCL is set."""


@pytest.fixture
def terminal() -> Iterator[Terminal]:
    with Terminal() as one:
        yield one


def opened(terminal: Terminal, line: Line | None = None) -> SerialWire:
    return SerialWire(terminal.path, line or Line())


@pytest.mark.parametrize(
    "use",
    [lambda wire: wire.read(LONG_S), lambda wire: wire.write(b"?\n"), lambda wire: wire.drop_input()],
    ids=["read", "write", "drop_input"],
)
def test_a1_an_adapter_unplugged_while_idle_is_a_lost_wire(
    terminal: Terminal, use: Callable[[SerialWire], object]
) -> None:
    """pyserial#401, #417, #331: four kinds of error, one of them no OSError, and is_open stays true."""
    wire = opened(terminal)
    terminal.unplug()
    with pytest.raises(WireLost, match=f"{terminal.path} failed, unplugged"):
        use(wire)
    wire.close()


def test_a1_an_adapter_unplugged_while_a_read_waits_ends_it(terminal: Terminal) -> None:
    wire = opened(terminal)
    threading.Timer(0.2, terminal.unplug).start()
    began_s = time.monotonic()
    with pytest.raises(WireLost, match="unplugged"):
        wire.read(LONG_S)
    assert time.monotonic() - began_s < LONG_S
    wire.close()


def test_a1_an_adapter_unplugged_between_question_and_answer_is_a_lost_wire(terminal: Terminal) -> None:
    wire = opened(terminal)
    wire.write(b"READ?\n")
    assert terminal.heard(LONG_S) == b"READ?\n"
    terminal.unplug()
    with pytest.raises(WireLost):
        wire.read(LONG_S)
    wire.close()


def test_a1_a_port_that_is_ready_but_has_nothing_is_gone(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A line that hung up is ready for ever and gives no byte (Linux, hung_up_tty_read); taken as silence
    that would spin."""
    wire = opened(terminal)
    terminal.send(b"x")
    monkeypatch.setattr(serial_wire, "os", SimpleNamespace(read=lambda descriptor, most: b""))
    with pytest.raises(WireLost, match="unplugged"):
        wire.read(LONG_S)
    wire.close()


def test_a1_bytes_that_another_program_took_first_are_no_fault(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The locks do not hold off root's; then the port was ready, and is not any more."""
    wire = opened(terminal)
    terminal.send(b"x")

    def none_left(descriptor: int, most: int) -> bytes:
        raise BlockingIOError(errno.EAGAIN, "Resource temporarily unavailable")

    monkeypatch.setattr(serial_wire, "os", SimpleNamespace(read=none_left))
    assert wire.read(LONG_S) == b""
    wire.close()


def test_a_port_that_was_closed_reads_no_other_file(terminal: Terminal, tmp_path: Path) -> None:
    """Its descriptor may be somebody else's by then."""
    wire = opened(terminal)
    number = wire._port.fileno()
    wire.close()
    other, writing = os.pipe()
    os.dup2(other, number)
    os.write(writing, b"secret")
    with pytest.raises(WireLost):
        wire.read(0.05)
    assert os.read(number, 10) == b"secret"
    for descriptor in {number, other, writing}:
        os.close(descriptor)


def test_a2_silence_is_no_error_and_half_a_frame_is_handed_over(terminal: Terminal) -> None:
    wire = opened(terminal)
    assert wire.read(0.05) == b""
    terminal.send(b"\x17\x20\x35")
    assert wire.read(LONG_S) == b"\x17\x20\x35"
    assert wire.read(0.05) == b""
    wire.close()


def test_a3_a_line_that_babbles_without_an_end_cannot_hold_a_read(terminal: Terminal) -> None:
    """Each read ends with what has come; pyserial's readline would never return."""
    wire = opened(terminal)
    stop = threading.Event()

    def babble() -> None:
        while not stop.wait(0.02):
            terminal.send(b"x")

    babbler = threading.Thread(target=babble)
    babbler.start()
    heard = [wire.read(LONG_S) for _ in range(20)]
    stop.set()
    babbler.join()
    assert all(heard)
    assert set(b"".join(heard)) == {ord("x")}
    wire.close()


def test_a5_a_second_opener_is_told_that_the_port_is_in_use(terminal: Terminal) -> None:
    """pyserial#86, #341: two readers would share the bytes at random."""
    wire = opened(terminal)
    with pytest.raises(WireLost, match=r"in use by another program"):
        opened(terminal)
    wire.close()
    opened(terminal).close()


def test_a5_the_port_is_held_against_programs_that_do_not_ask(terminal: Terminal) -> None:
    """flock is advisory. TIOCEXCL is not, though root passes it, so root can only look at the flag."""
    wire = opened(terminal)
    assert _is_exclusive(wire)
    if os.geteuid() != 0:
        with pytest.raises(OSError, match="busy") as refused:
            os.open(terminal.path, os.O_RDWR | os.O_NOCTTY)
        assert refused.value.errno == errno.EBUSY
    port = os.open(terminal.path, os.O_RDWR | os.O_NOCTTY) if os.geteuid() == 0 else -1
    wire.close()
    if port >= 0:
        assert not _flag(port)
        os.close(port)


def _is_exclusive(wire: SerialWire) -> bool:
    return _flag(wire._port.fileno())


def _flag(port: int) -> bool:
    answer = fcntl.ioctl(port, TIOCGEXCL, b"\0\0\0\0")
    return answer != b"\0\0\0\0"


def test_a6_a_link_that_points_elsewhere_is_followed_at_the_next_opening(tmp_path: Path) -> None:
    """ttyUSB0 becomes ttyUSB1 (pyserial#36, #699): the lasting name is resolved anew each time."""
    with Terminal(tmp_path / "adapter") as terminal:
        wire = opened(terminal)
        terminal.unplug()
        with pytest.raises(WireLost):
            wire.read(0.1)
        wire.close()
        terminal.plug()
        wire = opened(terminal)
        terminal.send(b"new")
        assert wire.read(LONG_S) == b"new"
        wire.close()


@pytest.mark.parametrize(("dtr", "rts"), [(True, False), (False, True), (False, False)])
def test_a10_dtr_and_rts_are_set_before_the_port_opens(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch, dtr: bool, rts: bool
) -> None:
    """pyserial#124, #729. A pseudo-terminal has no such lines and says ENOTTY: that must not matter."""
    seen: list[tuple[bool, bool]] = []
    genuine = serial.Serial.open

    def spy(port: serial.Serial) -> None:
        seen.append((port.dtr, port.rts))
        genuine(port)

    monkeypatch.setattr(serial.Serial, "open", spy)
    opened(terminal, Line(dtr=dtr, rts=rts)).close()
    assert seen == [(dtr, rts)]


def test_the_line_reaches_the_port_as_the_driver_says(
    terminal: Terminal, monkeypatch: pytest.MonkeyPatch
) -> None:
    """A11: a pseudo-terminal accepts 7O1 but applies none of it, so the arguments are looked at."""
    wire = opened(terminal, Line(baud=2400, data_bits=7, parity="O", stop_bits=2))
    port = wire._port
    assert (port.baudrate, port.bytesize, port.parity, port.stopbits) == (2400, 7, "O", 2)
    wire.close()


def test_a15_a_full_output_buffer_ends_the_write(terminal: Terminal) -> None:
    wire = SerialWire(terminal.path, Line(), write_s=0.3)
    with pytest.raises(WireLost, match="takes no more bytes"):
        wire.write(b"x" * 1_000_000)
    wire.close()


def test_a_flood_cannot_hold_drop_input(terminal: Terminal, monkeypatch: pytest.MonkeyPatch) -> None:
    wire = opened(terminal)
    monkeypatch.setattr(wire, "read", lambda wait_s: b"x" * 4096)
    wire.drop_input()
    wire.close()


def test_every_byte_that_came_is_read_once_and_in_order(terminal: Terminal) -> None:
    """Sent in pieces while it is read."""
    wire = opened(terminal)
    sent = bytes(range(256)) * 40

    def send() -> None:
        for start in range(0, len(sent), 97):
            terminal.send(sent[start : start + 97])

    sender = threading.Thread(target=send)
    sender.start()
    heard = b""
    while len(heard) < len(sent):
        heard += wire.read(LONG_S)
    sender.join()
    assert heard == sent
    wire.close()


def test_closing_twice_or_after_unplugging_is_no_error(terminal: Terminal) -> None:
    wire = opened(terminal)
    terminal.unplug()
    wire.close()
    wire.close()
    with pytest.raises(WireLost):
        wire.read(0.0)
