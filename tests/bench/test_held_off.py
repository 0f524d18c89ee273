"""XOFF and XON (ISO/IEC 646 DC3 and DC1, 13 and 11 hexadecimal) on a wire; the meters are invented."""

import os
import termios
from pathlib import Path

import pytest

from meterlog.bench.wires import open_wire
from meterlog.bench.wires.held_off import PATIENCE_S, HeldOffWire
from meterlog.reading import Line, Unanswered
from meterlog.testing import FakeWire, Terminal


def held_off() -> tuple[HeldOffWire, FakeWire]:
    wire = FakeWire()
    return HeldOffWire(wire, wire.clock), wire


def test_nothing_is_written_before_the_far_end_lets_go_and_nothing_it_says_meanwhile_is_lost() -> None:
    wire, far = held_off()
    began_ns = far.clock.now_ns
    far.send([(0.1, b"\x13+12.345\r\n"), (0.4, b"\x11")])
    assert wire.read(1.0) == b"+12.345\r\n"
    far.send([(-0.2, b"late")])
    wire.write(b"VAL?")
    assert far.clock.now_ns - began_ns == 500_000_000
    assert far.written == [b"VAL?"]
    assert wire.read(0.1) == b"late"


def test_a_far_end_that_never_lets_go_ends_the_write() -> None:
    wire, far = held_off()
    far.send([(0.1, b"\x13")])
    assert wire.read(0.5) == b""
    began_ns = far.clock.now_ns
    with pytest.raises(Unanswered, match="held off"):
        wire.write(b"VAL?")
    assert (far.written, far.clock.now_ns - began_ns) == ([], round(PATIENCE_S * 1e9))
    wire.drop_input()
    wire.write(b"VAL?")
    assert far.written == [b"VAL?"]


def test_an_xon_alone_does_not_end_a_wait() -> None:
    """Else what comes late after it would be taken for the next answer."""
    wire, far = held_off()
    far.send([(0.1, b"\x11"), (0.2, b"+12.345\r\n")])
    assert wire.read(1.0) == b"+12.345\r\n"
    assert wire.read(0.5) == b""


@pytest.mark.wire
@pytest.mark.parametrize("flow", ["none", "xon/xoff"])
def test_whoever_opens_a_port_that_is_held_off_so_need_not_know(flow: str, tmp_path: Path) -> None:
    with Terminal(tmp_path / "adapter") as terminal:
        wire = open_wire(terminal.path, Line(flow=flow))  # type: ignore[arg-type]
        terminal.send(b"\x131\x112")
        came = b""
        while data := wire.read(0.3):
            came += data
        wire.close()
    assert came == (b"12" if flow == "xon/xoff" else b"\x131\x112")


@pytest.mark.wire
@pytest.mark.parametrize("flow", ["none", "rts/cts"])
def test_the_port_itself_holds_off_by_its_lines(flow: str, tmp_path: Path) -> None:
    """CRTSCTS of termios(3); a pseudo-terminal keeps the flag, though it has no such lines."""
    with Terminal(tmp_path / "adapter") as terminal:
        port = os.open(terminal.path, os.O_RDWR | os.O_NOCTTY)  # before it is taken for one alone
        wire = open_wire(terminal.path, Line(flow=flow))  # type: ignore[arg-type]
        set_so = termios.tcgetattr(port)[2] & termios.CRTSCTS
        wire.close()
        os.close(port)
    assert bool(set_so) == (flow == "rts/cts")
