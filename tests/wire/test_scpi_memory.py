"""Readings from a meter's memory over real ports: all of them, fast, with honest dates, through a link."""

import socket
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path
from typing import Any

import pytest

from meterlog.bench import Link, SystemClock
from meterlog.reading import Coupling, State
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.meter import MeterModel
from meterlog.simulate.scpi_meter import ScpiMeter
from meterlog.simulate.scpi_plans import AC, DC, FREQUENCY, PLANS
from meterlog.simulate.scpi_server import HOST, ScpiServer
from meterlog.testing import HURRIED, PATIENCE_S, FarEnd, Instrument, Terminal, Witness
from meterlog_drivers.scpi import driver as scpi
from meterlog_drivers.scpi.buffered import OVERFLOWED
from tests.bench.kit import channel, entry
from tests.drivers.fake_memory import FakeMemory
from tests.drivers.fake_meter import FakeMeter

pytestmark = pytest.mark.wire


@contextmanager
def reading(address: str, witness: Witness, channels: Any = (), **more: Any) -> Iterator[Link]:
    """A link with a bench file's dialect and options."""
    link = Link(
        entry(address, "scpi", **more),
        channels or [channel()],
        scpi.driver,
        SystemClock(),
        deliver=witness.deliver,
        on_state=witness.on_state,
        pace=HURRIED,
    )
    link.start()
    yield link
    assert link.stop(PATIENCE_S)


def test_a_fast_meter_loses_nothing_on_its_way_through_the_link() -> None:
    """2000 readings a second, each with a number of its own."""
    witness = Witness()
    meter = FakeMemory(time.monotonic_ns, 0.0005)
    options = {"buffered": True}
    with (
        Instrument(meter) as instrument,
        reading(instrument.address, witness, dialect="memory-band", options=options),
    ):
        witness.wait_for(lambda: len(witness.readings) >= 4000)
    values = [one.value for one in witness.readings]
    assert values == list(range(1, len(values) + 1))
    dates = [one.monotonic_ns for one in witness.readings]
    assert dates == sorted(dates)
    assert {one.state for one in witness.readings} == {State.OK}


def test_what_a_memory_loses_is_in_the_status_of_the_link() -> None:
    """The memory is too small for the pause between two questions: 512 readings in 26 ms."""
    witness = Witness()
    meter = FakeMemory(time.monotonic_ns, 0.00005, holds=512)
    options = {"buffered": True}
    with (
        Instrument(meter) as instrument,
        reading(instrument.address, witness, dialect="memory-band", options=options) as link,
    ):
        witness.wait_for(lambda: any(one.remark == OVERFLOWED for one in witness.statuses))
    assert link.status.remarks >= 1


@contextmanager
def at_the_end_of(terminal: Terminal, meter: FarEnd) -> Iterator[None]:
    """The meter answers what comes on the serial line, line by line; a Ctrl-C ends no line."""
    stop = threading.Event()

    def serve() -> None:
        rest = b""
        with suppress(OSError):
            while not stop.is_set():
                *lines, rest = (rest + terminal.heard(0.1)).replace(b"\x03", b"\x03\n").split(b"\n")
                for line in lines:
                    for after_s, data in meter(line + b"\n" if line != b"\x03" else line):
                        time.sleep(after_s)
                        terminal.send(data)

    thread = threading.Thread(target=serve, daemon=True)
    thread.start()
    yield
    stop.set()
    thread.join(PATIENCE_S)


def test_a_meters_memory_is_emptied_over_a_serial_line(tmp_path: Path) -> None:
    witness = Witness()
    meter = FakeMemory(time.monotonic_ns, 0.01)
    options = {"buffered": True}
    with (
        Terminal(tmp_path / "adapter") as terminal,
        at_the_end_of(terminal, meter),
        reading(terminal.path, witness, dialect="memory-band", options=options),
    ):
        witness.wait_for(lambda: len(witness.readings) >= 100)
    values = [one.value for one in witness.readings]
    assert values == list(range(1, len(values) + 1))


def test_a_serial_meter_that_wants_remote_is_read(tmp_path: Path) -> None:
    witness = Witness()
    meter = FakeMeter(lambda: [(0.01, b"+1.00000000E+00\r\n")], end=b"\r\n")
    with (
        Terminal(tmp_path / "adapter") as terminal,
        at_the_end_of(terminal, meter),
        reading(terminal.path, witness, dialect="serial-remote"),
    ):
        witness.wait_for_readings(3)
    assert "SYST:REM" in meter.heard
    assert {one.value for one in witness.readings} == {1.0}


@pytest.fixture
def simulated_meter() -> Iterator[ScpiServer]:
    clock = RunningClock()
    looking = {AC: lambda _: 1.0, DC: lambda _: 2.0, FREQUENCY: lambda _: 440.0}

    def make(wait: Any) -> ScpiMeter:
        models = {name: MeterModel(PLANS[name], signal, name) for name, signal in looking.items()}
        return ScpiMeter(models, clock, wait)

    server = ScpiServer("bench meter", make)
    server.start()
    yield server
    server.close()


def test_the_simulated_meter_measures_by_itself_and_proves_its_dialect(simulated_meter: ScpiServer) -> None:
    """No dialect is named; its pace at the 20 Hz filter is 0.12 s."""
    witness = Witness()
    wanted = [channel(coupling=Coupling.AC)]
    with reading(simulated_meter.address, witness, wanted, options={"buffered": True}):
        witness.wait_for(lambda: len(witness.readings) >= 15)
    gaps_s = [
        (after.monotonic_ns - before.monotonic_ns) / 1e9
        for before, after in zip(witness.readings, witness.readings[1:], strict=False)
    ]
    assert sum(gaps_s[4:]) / len(gaps_s[4:]) == pytest.approx(0.12, rel=0.25)
    assert all(one.value == pytest.approx(1.0, rel=1e-2) for one in witness.readings[5:])


@pytest.mark.parametrize("options", [{}, {"buffered": True}], ids=["asked", "buffered"])
def test_who_uses_its_front_panel_gets_no_number_into_the_channel(
    simulated_meter: ScpiServer, options: Any
) -> None:
    """1 V AC is measured, DC would be 2 V; another connection stands for the hand at the panel."""
    witness = Witness()
    wanted = [channel(coupling=Coupling.AC)]
    with reading(simulated_meter.address, witness, wanted, options=options) as link:
        for _ in range(3):
            witness.wait_for_readings(3)
            with socket.create_connection((HOST, simulated_meter.port)) as panel:
                panel.sendall(b"CONF:VOLT:DC\n")
                told = link.status.remarks
                witness.wait_for(lambda told=told: link.status.remarks > told)  # type: ignore[misc]
        witness.wait_for_readings(3)
    assert all(one.value == pytest.approx(1.0, rel=0.01) for one in witness.readings if one.value is not None)
    assert {one.coupling for one in witness.readings} == {Coupling.AC}
    assert any('FUNC? says "VOLT", not "VOLT:AC"' in one.remark for one in witness.statuses)


SECOND = """
like = "band"
summary = "a second display that is asked for by itself"
second = { question = "DATA2?" }
[function.frequency]
configure = "CONF:FREQ"
second = 'VOLT:AC:SEC "FREQ"'
"""


def test_both_displays_of_the_simulated_meter_reach_their_channels(
    simulated_meter: ScpiServer, tmp_path: Path
) -> None:
    (tmp_path / "second.toml").write_text(SECOND)
    witness = Witness()
    level = channel(coupling=Coupling.AC)
    tone = channel("frequency", Coupling.NONE, display=2).model_copy(update={"name": "tone"})
    dialect = str(tmp_path / "second.toml")
    with reading(simulated_meter.address, witness, [level, tone], dialect=dialect):
        witness.wait_for(lambda: {one.channel for one in witness.readings} == {"panel", "tone"})
    assert next(one for one in witness.readings if one.channel == "tone").value == pytest.approx(
        440.0, rel=1e-3
    )
