"""The bench meter on a real socket, sound and with faults."""

import socket
from collections.abc import Iterator
from dataclasses import replace

import pytest

from meterlog.simulate.clock import RunningClock
from meterlog.simulate.meter import MeterModel
from meterlog.simulate.scpi_meter import IDENTITY, ScpiMeter, Wait
from meterlog.simulate.scpi_plans import AC, AC_PLAN, DC
from meterlog.simulate.scpi_server import ScpiServer
from tests.simulate.wires import Asker, until

pytestmark = pytest.mark.wire


def _make_meter(wait: Wait) -> ScpiMeter:
    models = {name: MeterModel(AC_PLAN, lambda _: 1.0, name) for name in (AC, DC)}
    return ScpiMeter(models, RunningClock(), wait)


def _obeyed(server: ScpiServer) -> list[str]:
    """What the meter is told from now on."""
    told: list[str] = []
    answer = server._instrument.answer

    def listen(message: str) -> str | None:
        told.append(message)
        return answer(message)

    server._instrument.answer = listen  # type: ignore[method-assign]
    return told


@pytest.fixture
def server() -> Iterator[ScpiServer]:
    server = ScpiServer("bench meter", _make_meter)
    server.plug()
    yield server
    server.close()


def test_dialogue(server: ScpiServer) -> None:
    with Asker(server.address) as meter:
        assert meter.ask("*IDN?") == IDENTITY
        meter.say("CONF:VOLT:AC 10")
        assert meter.ask("SYST:ERR?") == '0,"No error"'
        assert float(meter.ask("READ?")) == pytest.approx(1.0, rel=1e-3)


def test_line_ends_and_pieces_do_not_matter(server: ScpiServer) -> None:
    with Asker(server.address) as meter:
        meter.say("*OPC?\r")
        assert meter.line() == b"1\n"
        for piece in ("*O", "P", "C?\n*OP", "C?\n"):
            meter._socket.sendall(piece.encode())
        assert (meter.line(), meter.line()) == (b"1\n", b"1\n")


def test_one_connection_after_another_and_two_at_once(server: ScpiServer) -> None:
    for _ in range(3):
        with Asker(server.address) as meter:
            assert meter.ask("*OPC?") == "1"
    with Asker(server.address) as first, Asker(server.address) as second:
        first.say("FOO")
        assert first.ask("*OPC?") == "1"
        assert second.ask("SYST:ERR?").startswith("-113")
    until(lambda: not server._connections)


def test_foreign_bytes_are_answered_by_an_error_not_by_silence(server: ScpiServer) -> None:
    with Asker(server.address) as meter:
        meter._socket.sendall(bytes(range(128, 200)) + b"\n")
        assert meter.ask("SYST:ERR?").startswith("-113")


def test_pulled_and_plugged_on_the_same_port(server: ScpiServer) -> None:
    address = server.address
    with Asker(address) as meter:
        assert meter.ask("*OPC?") == "1"
        server.unplug()
        assert meter.ended()
        assert not server.plugged
        with pytest.raises(OSError):  # noqa: PT011 - which one is the system's choice
            Asker(address)
    server.plug()
    assert server.address == address
    with Asker(address) as meter:
        assert meter.ask("*OPC?") == "1"


def test_pulled_in_the_middle_of_a_measurement(server: ScpiServer) -> None:
    with Asker(server.address) as meter:
        obeyed = _obeyed(server)
        meter.say("CONF:VOLT:AC;:SAMP:COUN 1000;:READ?")
        until(lambda: obeyed)
        server.unplug()
        assert meter.ended()


def test_silence_loses_the_answer_for_good(server: ScpiServer) -> None:
    with Asker(server.address) as meter:
        obeyed = _obeyed(server)
        server.faults = replace(server.faults, silent=True)
        meter.say("*IDN?")
        until(lambda: obeyed)
        assert meter.silent_for(0.3)
        server.faults = replace(server.faults, silent=False)
        assert meter.ask("*OPC?") == "1"


def test_late_answers_come_in_their_order(server: ScpiServer) -> None:
    with Asker(server.address) as meter:
        server.faults = replace(server.faults, late_s=0.4)
        meter.say("*IDN?")
        assert meter.silent_for(0.1)
        server.faults = replace(server.faults, late_s=0.0)
        assert meter.ask("*OPC?") == IDENTITY  # the answer to the question before, as with a slow meter
        assert meter.line() == b"1\n"


def test_noise_before_an_answer(server: ScpiServer) -> None:
    with Asker(server.address) as meter:
        server.faults = replace(server.faults, noise_bytes=7)
        meter.say("*OPC?")
        heard = b""
        while not heard.endswith(b"1\n"):
            heard += meter.line()
        assert len(heard) == 7 + 2


def test_port_in_use_is_an_os_error() -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        server = ScpiServer("bench meter", _make_meter, other.getsockname()[1])
        with pytest.raises(OSError, match="in use"):
            server.plug()
        assert not server.plugged
