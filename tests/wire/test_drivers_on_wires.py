"""The project's drivers over real ports, a pseudo-terminal and a socket, through the links of the bench."""

import csv
from pathlib import Path

import pytest

from meterlog.bench import LinkState, OpenBench, SystemClock, load_bench
from meterlog.reading import Coupling, State
from meterlog.simulate.rig import Rig
from meterlog.testing import PATIENCE_S, Instrument, Numbered, Terminal, Witness
from meterlog_drivers.handheld import fs9721
from meterlog_drivers.scpi import driver as scpi
from tests.bench.kit import link_to
from tests.drivers.fake_meter import FakeMeter

pytestmark = pytest.mark.wire

VECTORS = Path(__file__).parents[1] / "drivers" / "vectors" / "fs9721.csv"
"""Its head names its sources."""


def _vectors() -> list[dict[str, str]]:
    lines = [line for line in VECTORS.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
    return list(csv.DictReader(lines))


def _voltages() -> list[dict[str, str]]:
    """DC volts with a number."""
    rows = [row for row in _vectors() if row["expect"] == "reading"]
    return [row for row in rows if (row["function"], row["coupling"]) == ("voltage", "dc")]


@pytest.mark.parametrize("row", _voltages(), ids=lambda row: row["id"])
def test_frames_of_the_chip_arrive_as_readings_of_the_channel(row: dict[str, str], tmp_path: Path) -> None:
    witness = Witness()
    with Terminal(tmp_path / "adapter") as terminal:
        link = link_to(terminal.path, fs9721.driver, witness)
        link.start()
        with terminal.talking(bytes.fromhex(row["hex"])):
            witness.wait_for_readings(2)
        assert link.stop(PATIENCE_S)
    for reading in witness.readings:
        assert reading.value == pytest.approx(float(row["value"]), rel=1e-12, abs=1e-15)
        assert (reading.state, reading.channel) == (State.OK, "panel")
        assert reading.raw == bytes.fromhex(row["hex"])


def test_a_knob_turned_to_ohms_gives_no_value_on_a_channel_of_volts(tmp_path: Path) -> None:
    """Row fs9721-12: 399.9 ohm."""
    ohms = next(bytes.fromhex(row["hex"]) for row in _vectors() if row["id"] == "fs9721-12")
    witness = Witness()
    with Terminal(tmp_path / "adapter") as terminal:
        link = link_to(terminal.path, fs9721.driver, witness)
        link.start()
        with terminal.talking(ohms):
            witness.wait_for_readings(2)
        assert link.stop(PATIENCE_S)
    assert {(one.state, one.value) for one in witness.readings} == {(State.INVALID, None)}
    assert "channel 'panel' wants V dc" in link.status.text


def test_a_scpi_meter_on_a_serial_line_is_set_up_and_read(tmp_path: Path) -> None:
    meter = FakeMeter(Numbered())
    witness = Witness()
    with Terminal(tmp_path / "adapter") as terminal:
        link = link_to(terminal.path, scpi.driver, witness)
        link.start()
        while len(witness.readings) < 3:
            for line in terminal.heard(PATIENCE_S).splitlines(keepends=True):
                for _, data in meter(line):
                    terminal.send(data)
        link.ask_to_stop()
        assert link.stop(PATIENCE_S)
    assert [one.value for one in witness.readings[:3]] == [1.0, 2.0, 3.0]
    assert "CONF:VOLT:DC" in meter.heard


def test_a_scpi_meter_on_a_socket_is_set_up_as_the_channel_says() -> None:
    meter = FakeMeter(Numbered())
    witness = Witness()
    with Instrument(meter) as instrument:
        link = link_to(instrument.address, scpi.driver, witness, coupling=Coupling.AC)
        link.start()
        witness.wait_for_readings(3)
        assert link.stop(PATIENCE_S)
    assert "CONF:VOLT:AC" in meter.heard
    assert {one.coupling for one in witness.readings} == {Coupling.AC}


@pytest.mark.usefixtures("real_drivers")
def test_the_simulated_bench_is_read_by_its_own_bench_file(tmp_path: Path) -> None:
    """Three meters on real ports; two are unplugged and found again."""
    witness = Witness()
    with Rig(tmp_path, seed=1) as rig:
        bench = OpenBench(
            load_bench(Path(str(rig.places["bench_file"]))), SystemClock(), witness.deliver, witness.on_state
        )
        bench.start()
        witness.wait_for(lambda: {one.channel for one in witness.readings} == {"output", "input", "panel"})
        for port in (rig.ports["bench meter"], rig.ports["panel meter"]):
            port.unplug()
        witness.wait_for(lambda: [one.state for one in bench.statuses()].count(LinkState.LOST) == 2)
        for port in (rig.ports["bench meter"], rig.ports["panel meter"]):
            port.plug()
        witness.wait_for(lambda: all(one.state is LinkState.LIVE for one in bench.statuses()))
        assert bench.stop(PATIENCE_S) == []
    assert {one.state for one in witness.readings} <= {State.OK, State.BLANK}
