"""The whole bench on its wires, in one process and as the program that a user starts."""

import json
import os
import signal
import subprocess
import sys
import time
from contextlib import closing
from pathlib import Path

import pytest

from meterlog.bench import DrivenSource, SystemClock, load_bench, load_source_driver
from meterlog.simulate.errors import SimulateError
from meterlog.simulate.handheld import FRAME_S
from meterlog.simulate.rig import Rig
from meterlog.simulate.scenarios.am_radio import AM_RADIO
from meterlog.simulate.scenarios.phono import PHONO
from tests.simulate.wires import PATIENCE_S, Asker, http, read, reader, until

pytestmark = pytest.mark.wire


def test_bench_file_leads_to_every_meter(tmp_path: Path) -> None:
    with Rig(tmp_path, seed=1):
        bench = load_bench(tmp_path / "bench.toml")
        addresses = {meter.name: meter.address for meter in bench.meters}
        assert bench.simulate_url is not None
        assert http(bench.simulate_url)[0] == 200
        assert {channel.name: channel.meter for channel in bench.channels} == {
            "output": "bench meter",
            "input": "input meter",
            "panel": "panel meter",
        }
        with Asker(addresses["bench meter"]) as meter:
            assert "SIMULATED BENCH" in meter.ask("*IDN?")
        for name in ("input meter", "panel meter"):
            with reader(Path(addresses[name])) as port:
                assert read(port, 14)


def test_a_turned_trimmer_is_seen_by_the_meter(tmp_path: Path) -> None:
    with Rig(tmp_path, seed=1) as rig:
        url = str(rig.places["control_url"])
        http(url + "set", {"transport": "play reference tape", "section": "reference level 1 kHz"})
        readings = []
        with Asker(str(rig.places["bench_meter"])) as meter:
            meter.say("CONF:VOLT:AC 10")
            for to in (0.4, 0.6):
                http(url + "turn", {"trimmer": "reproduce level", "to": to})
                readings += [[float(meter.ask("READ?")) for _ in range(12)][-1]]
        assert readings[1] / readings[0] == pytest.approx(10 ** (12 * 0.2 / 20), rel=0.02)


def test_pulled_leads_are_told(tmp_path: Path) -> None:
    with Rig(tmp_path, seed=1) as rig:
        url = str(rig.places["control_url"])
        for name in ("bench meter", "input meter", "panel meter"):
            assert http(url + "fault", {"meter": name, "plugged": False})[0] == 200
        assert not (tmp_path / "input-meter").is_symlink()
        meters = json.loads(http(url + "state")[1])["meters"]
        assert [meter["plugged"] for meter in meters.values()] == [False, False, False]


def test_two_benches_in_one_folder_are_refused(tmp_path: Path) -> None:
    with Rig(tmp_path, seed=1) as first:
        with pytest.raises(SimulateError, match="another simulated bench"), Rig(tmp_path, seed=2):
            pass
        with Asker(str(first.places["bench_meter"])) as meter:
            assert meter.ask("*OPC?") == "1"
        assert (tmp_path / "input-meter").is_symlink()


def test_a_port_in_use_is_told_and_nothing_is_left(tmp_path: Path) -> None:
    with Rig(tmp_path / "first", seed=1) as first:
        port = int(str(first.places["bench_meter"]).split("::")[2])
        with (
            pytest.raises(SimulateError, match="port is in use"),
            Rig(tmp_path / "second", 1, meter_port=port),
        ):
            pass
    with Rig(tmp_path / "second", seed=1):
        pass


def test_nothing_but_the_bench_file_stays(tmp_path: Path) -> None:
    with Rig(tmp_path, seed=1):
        pass
    assert {path.name for path in tmp_path.iterdir()} == {"bench.toml", "simulate.lock"}


def _start(folder: Path, *arguments: str) -> subprocess.Popen[str]:
    command = [sys.executable, "-m", "meterlog.simulate.main", "run", "--folder", str(folder), *arguments]
    environment = os.environ | {"PYTHONPATH": os.pathsep.join(sys.path)}
    return subprocess.Popen(
        command, env=environment, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )


@pytest.mark.parametrize("how", [signal.SIGTERM, signal.SIGINT])
def test_the_program_says_where_it_is_and_ends_when_told(tmp_path: Path, how: signal.Signals) -> None:
    with _start(tmp_path) as program:
        assert program.stdout is not None
        places = json.loads(program.stdout.readline())
        assert places == json.loads((tmp_path / "simulate.json").read_text(encoding="utf-8"))
        assert json.loads(http(places["control_url"] + "state")[1])["lamp"] is False
        program.send_signal(how)
        assert program.wait(PATIENCE_S) == 0
    assert not (tmp_path / "panel-meter").is_symlink()
    assert not (tmp_path / "simulate.json").exists()


def test_the_program_explains_in_one_line_why_it_cannot(tmp_path: Path) -> None:
    (tmp_path / "taken").write_text("a file where the folder should be", encoding="utf-8")
    with _start(tmp_path / "taken") as program:
        out, err = program.communicate(timeout=PATIENCE_S)
    assert (program.returncode, out) == (1, "")
    assert len(err.strip().splitlines()) == 1
    assert "taken" in err


def test_an_unknown_scenario_is_told_with_those_that_there_are(tmp_path: Path) -> None:
    with _start(tmp_path, "--scenario", "toaster") as program:
        _, err = program.communicate(timeout=PATIENCE_S)
    assert program.returncode == 1
    assert "toaster" in err
    assert "tape-machine" in err


def test_a_bench_at_ten_times_the_pace_sends_frames_ten_times_as_often(tmp_path: Path) -> None:
    with Rig(tmp_path, seed=1, speed=10.0), reader(tmp_path / "input-meter") as port:
        read(port, 14)
        began_s = time.monotonic()
        read(port, 14 * 60)
        assert time.monotonic() - began_s < 60 * FRAME_S * 0.9, "2 s; 20 s at its own pace"


def test_killed_bench_leaves_a_folder_that_can_be_used_again(tmp_path: Path) -> None:
    with _start(tmp_path) as program:
        assert program.stdout is not None
        program.stdout.readline()
        program.kill()
    until(lambda: not (tmp_path / "input-meter").exists())  # the link is left, but it leads nowhere
    with Rig(tmp_path, seed=1), reader(tmp_path / "input-meter") as port:
        assert read(port, 14)


def test_each_meter_has_a_serial_number_of_its_own_and_says_it(tmp_path: Path) -> None:
    with Rig(tmp_path, seed=1, scenario=AM_RADIO):
        meters = load_bench(tmp_path / "bench.toml").meters
        for meter, says in zip(meters, ("6.5-digit meter,S-001", "counter,S-002"), strict=True):
            with Asker(meter.address) as asker:
                assert asker.ask("*IDN?") == f"SIMULATED BENCH,{says},1.0"
            assert says.endswith(meter.serial_number)


def test_a_scenario_with_a_generator_puts_it_on_the_bench(tmp_path: Path) -> None:
    with Rig(tmp_path, seed=1, scenario=PHONO) as rig:
        entry = load_bench(tmp_path / "bench.toml").source
        assert entry is not None
        source = DrivenSource(entry, load_source_driver(entry.driver), SystemClock())
        with closing(source):
            assert source.set(2000.0, 0.1).startswith("2000 Hz, 0.1 V")
        assert rig.bench.now().controls["frequency_hz"] == pytest.approx(2000.0)
        url = str(rig.places["control_url"])
        assert http(url + "fault", {"meter": "source", "plugged": False})[0] == 200
        assert not rig.ports["source"].plugged
