"""The VISA wire through the Python backend of PyVISA to HiSLIP and VXI-11 instruments on the loopback."""

import gc
import time
import warnings
from collections.abc import Iterator

import pytest

from meterlog.bench import LinkState
from meterlog.bench.wires.visa_wire import VisaWire, manager
from meterlog.reading import Settings, WireLost
from meterlog.testing import Numbered, Witness
from meterlog_drivers.scpi import driver as scpi
from tests.bench.kit import link_to
from tests.drivers.fake_memory import FakeMemory
from tests.drivers.fake_meter import FakeMeter
from tests.wire.hislip import HislipInstrument
from tests.wire.vxi11 import Vxi11Instrument

pytestmark = pytest.mark.wire

LONG_S = 30.0


@pytest.fixture
def instrument() -> Iterator[HislipInstrument]:
    with HislipInstrument(FakeMeter(Numbered())) as one:
        yield one


def test_a_question_is_answered(instrument: HislipInstrument) -> None:
    wire = VisaWire(instrument.address)
    wire.write(b"*IDN?\n")
    assert wire.read(LONG_S) == b"ACME,M1,123,1.0\n"
    wire.close()


def test_nothing_is_fetched_before_something_was_asked_nor_twice(
    instrument: HislipInstrument, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Fetching then is an error of the instrument's; a wait of 0 never fetches."""
    wire = VisaWire(instrument.address)
    fetched: list[float] = []
    genuine = wire._fetch

    def fetch(wait_s: float) -> bytes:
        fetched.append(wait_s)
        return genuine(wait_s)

    monkeypatch.setattr(wire, "_fetch", fetch)
    assert wire.read(0.01) == b""
    wire.write(b"*IDN?\n")
    assert wire.read(0.0) == b""
    assert wire.read(LONG_S)
    assert wire.read(0.01) == b""
    assert fetched == [LONG_S]
    wire.close()


def test_an_answer_that_does_not_come_is_no_error() -> None:
    with HislipInstrument(lambda line: []) as instrument:
        wire = VisaWire(instrument.address)
        wire.write(b"READ?\n")
        assert wire.read(0.1) == b""
        wire.close()


def test_drop_input_clears_the_device() -> None:
    with HislipInstrument(lambda line: [] if line == b"READ?\n" else [(0.0, b"1\n")]) as instrument:
        wire = VisaWire(instrument.address)
        wire.write(b"READ?\n")
        wire.drop_input()
        assert instrument.clears == 1
        assert wire.read(0.05) == b""
        wire.write(b"*OPC?\n")
        assert wire.read(LONG_S) == b"1\n"
        wire.close()


def test_an_answer_that_crosses_the_clear_is_not_taken_for_the_next(instrument: HislipInstrument) -> None:
    """IVI-6.1 tells the client to skip it; the library gives up instead, and so does the wire."""
    wire = VisaWire(instrument.address)
    wire.write(b"*IDN?\n")
    with pytest.raises(WireLost):
        wire.drop_input()
    wire.close()


def test_an_instrument_that_goes_away_is_a_lost_wire(instrument: HislipInstrument) -> None:
    """B4: the backend raises OSError and bare RuntimeError, never its own kind."""
    wire = VisaWire(instrument.address)
    wire.write(b"*IDN?\n")
    assert wire.read(LONG_S)
    instrument.hang_up()
    with pytest.raises(WireLost, match=r"hislip0.* the VISA library says: "):
        _use(wire)
    wire.close()
    wire.close()


def _use(wire: VisaWire) -> None:
    """A write just after the far end has gone may still succeed."""
    for _ in range(3):
        wire.write(b"*IDN?\n")
        wire.read(1.0)


def test_b10_one_manager_serves_all_and_outlives_each_of_them(instrument: HislipInstrument) -> None:
    """Closing the manager would end every instrument's session."""
    first, second = VisaWire(instrument.address), VisaWire(instrument.address)
    first.close()
    second.write(b"*OPC?\n")
    assert second.read(LONG_S) == b"1\n"
    second.close()
    assert manager() is manager()
    assert manager().session is not None


@pytest.mark.parametrize(
    "address", ["GPIB0::9::INSTR", "USB0::0x1234::0x5678::A1::INSTR", "TCPIP::x::y::z::INSTR"]
)
def test_what_cannot_be_opened_says_why(address: str) -> None:
    """No interface, no device, no such name."""
    with pytest.raises(WireLost, match=r"the VISA library says: .+; is the instrument on"):
        VisaWire(address)


def test_a_refused_instrument_says_why_and_fills_no_log(caplog: pytest.LogCaptureFixture) -> None:
    """The library would log a trace for every attempt."""
    with HislipInstrument(lambda line: []) as instrument:
        address = instrument.address
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ResourceWarning)  # the backend leaves its socket to the collector
        with pytest.raises(WireLost, match="the VISA library says: "):
            VisaWire(address)
        gc.collect()
    assert caplog.records == []


def test_the_scpi_driver_reads_through_visa(instrument: HislipInstrument) -> None:
    witness = Witness()
    link = link_to(instrument.address, scpi.driver, witness)
    link.start()
    witness.wait_for(lambda: len(witness.readings) >= 5)
    assert link.stop(LONG_S)
    assert [one.value for one in witness.readings[:5]] == [1.0, 2.0, 3.0, 4.0, 5.0]
    assert witness.states == [LinkState.CONNECTING, LinkState.LIVE]


def test_b1_a_late_answer_through_visa_is_never_the_next_one() -> None:
    """The device clear throws it away."""
    asked = Numbered(lambda number, usual: [(1.7 if number == 3 else 0.01, usual)])
    witness = Witness()
    with HislipInstrument(FakeMeter(asked)) as instrument:
        link = link_to(instrument.address, scpi.driver, witness)
        link.start()
        witness.wait_for(lambda: any(one.value == 6.0 for one in witness.readings))
        assert link.stop(LONG_S)
    assert all(asked.was_asked(one.value, one.monotonic_ns) for one in witness.readings)
    assert 3.0 not in [one.value for one in witness.readings]


def test_vxi_11_a_question_is_answered_and_a_clear_clears() -> None:
    with Vxi11Instrument(lambda line: [] if line == b"READ?\n" else [(0.05, b"1\n")]) as instrument:
        wire = VisaWire(instrument.address)
        wire.write(b"READ?\n")
        assert wire.read(0.1) == b"", "an answer that does not come is no error"
        wire.drop_input()
        assert instrument.clears == 1
        wire.write(b"*OPC?\n")
        assert wire.read(LONG_S) == b"1\n"
        wire.close()


def test_vxi_11_an_answer_may_come_in_pieces() -> None:
    with Vxi11Instrument(lambda line: [(0.01, b"+" + b"1" * 50_000 + b"\n")]) as instrument:
        wire = VisaWire(instrument.address)
        wire.write(b"READ?\n")
        came = b""
        while not came.endswith(b"\n"):
            came += wire.read(LONG_S)
        assert len(came) == 50_002
        wire.close()


def test_vxi_11_the_scpi_driver_reads() -> None:
    witness = Witness()
    with Vxi11Instrument(FakeMeter(Numbered())) as instrument:
        link = link_to(instrument.address, scpi.driver, witness)
        link.start()
        witness.wait_for(lambda: len(witness.readings) >= 5)
        assert link.stop(LONG_S)
    assert [one.value for one in witness.readings[:5]] == [1.0, 2.0, 3.0, 4.0, 5.0]
    assert witness.states == [LinkState.CONNECTING, LinkState.LIVE]


def test_vxi_11_a_late_answer_is_never_the_next_one() -> None:
    asked = Numbered(lambda number, usual: [(1.7 if number == 3 else 0.01, usual)])
    witness = Witness()
    with Vxi11Instrument(FakeMeter(asked)) as instrument:
        link = link_to(instrument.address, scpi.driver, witness)
        link.start()
        witness.wait_for(lambda: any(one.value == 6.0 for one in witness.readings))
        assert link.stop(LONG_S)
    assert all(asked.was_asked(one.value, one.monotonic_ns) for one in witness.readings)
    assert 3.0 not in [one.value for one in witness.readings]


def test_a_meters_memory_is_emptied_through_visa() -> None:
    """HiSLIP: messages, and an error of the instrument's if something is fetched that was not asked for."""
    with HislipInstrument(FakeMemory(time.monotonic_ns, 0.002)) as instrument:
        wire = VisaWire(instrument.address)
        settings = Settings(dialect="memory-band", options={"buffered": True})
        meter = scpi.driver.connect(wire, settings, time.monotonic_ns)
        values: list[float | None] = []
        while len(values) < 200:
            values += [shown.value for shown in meter.poll(0.25)]
        assert values == list(range(1, len(values) + 1))
        meter.close()
        wire.close()
