"""Other people's SCPI at both ends: a meter built with another library, a general VISA client at ours."""

import gc
import time
import warnings
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
import pyvisa

from meterlog.bench import LinkState
from meterlog.bench.wires import open_wire, visa_wire
from meterlog.reading import Coupling, Settings, State
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.meter import MeterModel
from meterlog.simulate.scpi_meter import ScpiMeter
from meterlog.simulate.scpi_plans import AC, DC, FREQUENCY, PLANS
from meterlog.simulate.scpi_server import ScpiServer
from meterlog.testing import PATIENCE_S, Witness
from meterlog_drivers.scpi import driver as scpi
from meterlog_drivers.scpi.meter import CHANGED
from meterlog_drivers.scpi.panel import UNSEEN
from tests.bench.kit import link_to
from tests.wire.scpi_other import OtherMeter

pytestmark = pytest.mark.wire

SIMULATED_VISA = Path(__file__).parent / "visa_sim.yaml"


def test_our_driver_reads_a_meter_built_with_another_library() -> None:
    witness = Witness()
    with OtherMeter() as meter:
        link = link_to(meter.address, scpi.driver, witness)
        link.start()
        witness.wait_for(lambda: len(witness.readings) >= 5)
        assert link.stop(PATIENCE_S)
    assert [one.value for one in witness.readings[:5]] == [1.0, 2.0, 3.0, 4.0, 5.0]
    assert meter.told == ["dc"]
    assert witness.states == [LinkState.CONNECTING, LinkState.LIVE]


def test_its_filter_proves_the_dialect_and_is_set() -> None:
    """Its parser refuses the questions of other dialects without an answer; its queue is emptied of that."""

    settings = Settings(coupling=Coupling.AC, ac_filter_hz=20.0)
    with OtherMeter() as meter:
        wire = open_wire(meter.address, scpi.driver.line)
        connected = scpi.driver.connect(wire, settings, time.monotonic_ns)
        assert [shown.value for shown in connected.poll(1.0)] == [1.0]
        connected.close()
        wire.close()
    assert meter.told == ["ac", "band 20"]


def test_what_its_front_panel_is_set_to_is_no_reading_of_the_channel() -> None:
    witness = Witness()
    with OtherMeter() as meter:
        link = link_to(meter.address, scpi.driver, witness)
        link.start()
        witness.wait_for(lambda: len(witness.readings) >= 3)
        before = len(witness.readings)
        meter.function = "CURR"
        witness.wait_for(lambda: len(witness.readings) >= before + 20)
        assert link.stop(PATIENCE_S)
    invalid = [one for one in witness.readings if one.state is State.INVALID]
    assert len(invalid) == 1
    assert invalid[0].value is None
    assert CHANGED.format('FUNC? says "CURR", not "VOLT"') in {one.remark for one in witness.statuses}
    assert meter.told == ["dc", "dc"]


def test_a_meter_of_that_library_that_does_not_know_the_question_is_read_all_the_same() -> None:
    """Its parser answers nothing and leaves an error."""
    witness = Witness()
    with OtherMeter(function=None) as meter:
        link = link_to(meter.address, scpi.driver, witness)
        link.start()
        witness.wait_for(lambda: len(witness.readings) >= 5)
        assert link.stop(PATIENCE_S)
    assert [one.value for one in witness.readings[:5]] == [1.0, 2.0, 3.0, 4.0, 5.0]
    assert link.status.remark == UNSEEN.format("FUNC?")


@pytest.fixture
def simulated_visa(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The simulated backend of PyVISA in place of the real one. It has no device clear; ours is left out."""
    manager: Any = pyvisa.ResourceManager(f"{SIMULATED_VISA}@sim")
    monkeypatch.setattr(visa_wire, "manager", lambda: manager)
    monkeypatch.setattr(manager.visalib, "clear", lambda session: 0)
    yield
    manager.close()


@pytest.mark.parametrize(
    "address",
    ["USB0::0x1234::0x5678::A1::INSTR", "GPIB0::9::INSTR", "TCPIP0::192.0.2.7::inst0::INSTR"],
)
@pytest.mark.usefixtures("simulated_visa")
def test_usb_gpib_and_lan_names_reach_the_visa_library(address: str) -> None:
    """Not seen on hardware: there was no USBTMC or GPIB instrument; this is the library's simulation."""
    witness = Witness()
    link = link_to(address, scpi.driver, witness)
    link.start()
    witness.wait_for(lambda: len(witness.readings) >= 3)
    assert link.stop(PATIENCE_S)
    assert {one.value for one in witness.readings} == {0.00123456789}
    assert link.status.identity is not None
    assert link.status.identity.serial_number == "123"


@pytest.mark.usefixtures("simulated_visa")
def test_somebody_else_s_setting_is_noticed_through_the_visa_library() -> None:
    """The simulation keeps one state for all who open the instrument: the other one stands for the panel."""
    address = "GPIB0::9::INSTR"
    wire = open_wire(address, scpi.driver.line)
    meter = scpi.driver.connect(wire, Settings(coupling=Coupling.DC), time.monotonic_ns)
    assert [shown.value for shown in meter.poll(1.0)] == [0.00123456789]
    visa_wire.manager().open_resource(address, write_termination="\n").write("CONF:CURR:DC")
    assert [shown.state for shown in meter.poll(1.0)] == [State.INVALID]
    assert [shown.value for shown in meter.poll(1.0)] == [0.00123456789]
    meter.close()
    wire.close()


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


def test_a_general_client_works_with_the_simulated_meter(simulated_meter: ScpiServer) -> None:
    """PyVISA as anybody uses it: its own terminators, its own parser of lists and blocks."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # the backend leaves its sockets to the collector
        client: Any = pyvisa.ResourceManager("@py").open_resource(simulated_meter.address)
        client.read_termination = client.write_termination = "\n"
        client.timeout = 10_000
        assert client.query("*IDN?").split(",")[2] == "S-001"
        client.write("CONF:VOLT:DC 10;:SAMP:COUN 4;:INIT")
        assert client.query_ascii_values("FETC?") == pytest.approx([2.0] * 4, rel=1e-3)
        client.write("R? 3")
        assert client.read_ascii_values(converter=_after_header) == pytest.approx([2.0] * 3, rel=1e-3)
        client.write("NO:SUCH:COMMAND")
        assert client.query("*STB?") == "4"
        assert client.query("SYST:ERR?").startswith("-113,")
        client.close()
        gc.collect()


def _after_header(text: str) -> float:
    """The client leaves the header of a definite block at the first number."""
    return float(text[2 + int(text[1]) :] if text.startswith("#") else text)
