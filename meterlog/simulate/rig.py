"""The whole bench on real wires: unit, meters, control server, and the files that tell where they are."""

import contextlib
import fcntl
import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path

from meterlog.simulate import bench_file, handheld, scpi_meter
from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.bench_file import Entry
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.control import Control
from meterlog.simulate.control_server import ControlServer
from meterlog.simulate.errors import SimulateError
from meterlog.simulate.faults import Port
from meterlog.simulate.handheld import Handheld
from meterlog.simulate.meter import MeterModel, MeterPlan
from meterlog.simulate.scenarios.tape_machine import TapeMachine
from meterlog.simulate.scpi_meter import ScpiMeter, Wait
from meterlog.simulate.scpi_server import ScpiServer

DC_REST_V = 0.0003
"""What the line output shows on DC: the rest behind its coupling capacitor."""


class Rig:
    """Everything of one folder. It runs inside `with`, once."""

    def __init__(self, folder: Path, seed: int, control_port: int = 0, meter_port: int = 0) -> None:
        self.folder = folder
        self._seed = seed
        self._clock = RunningClock()
        self.bench = SimulatedBench(TapeMachine(seed), self._clock)
        self._bench_meter = ScpiServer("bench meter", self._make_bench_meter, meter_port)
        self._input_meter = self._handheld("input", handheld.AC_PLAN, "ac")
        self._panel_meter = self._handheld("panel", handheld.DC_PLAN, "dc")
        meters: list[Port] = [self._bench_meter, self._input_meter, self._panel_meter]
        self._control_port = control_port
        self._control = Control(self.bench, {meter.name: meter for meter in meters})
        self._server: ControlServer | None = None
        self._opened = contextlib.ExitStack()

    def __enter__(self) -> "Rig":
        """Raises SimulateError when the folder or a port is in use; nothing is left behind then."""
        with contextlib.ExitStack() as opened:
            self._start(opened)
            self._opened = opened.pop_all()
        return self

    def __exit__(self, *_: object) -> None:
        """Pull every lead and take the links away; the bench file stays, for the record."""
        self._opened.close()

    @property
    def places(self) -> Mapping[str, str | int]:
        """Where to find what, as simulate.json says it."""
        assert self._server is not None
        return {
            "control_url": self._server.url,
            "bench_file": str(self._bench_path),
            "bench_meter": self._bench_meter.address,
            "input_meter": self._input_meter.address,
            "panel_meter": self._panel_meter.address,
            "pid": os.getpid(),
        }

    def _start(self, opened: contextlib.ExitStack) -> None:
        self.folder.mkdir(parents=True, exist_ok=True)
        opened.enter_context(self._locked())
        try:
            self._bench_meter.plug()
            opened.callback(self._bench_meter.close)
            self._server = ControlServer(self._control, self._control_port)
        except OSError as error:
            raise SimulateError(
                f"a port is in use: {error}; choose another, or 0 for any free one"
            ) from error
        for start, close in (
            (self._input_meter.start, self._input_meter.close),
            (self._panel_meter.start, self._panel_meter.close),
            (self._server.start, self._server.close),
        ):
            start()
            opened.callback(close)
        self._bench_path.write_text(self._bench_text(), encoding="utf-8")
        self._tell_places()
        opened.callback(self._places_path.unlink, missing_ok=True)

    @property
    def _bench_path(self) -> Path:
        return self.folder / "bench.toml"

    @property
    def _places_path(self) -> Path:
        return self.folder / "simulate.json"

    def _tell_places(self) -> None:
        """In one go: whoever waits for this file must never read half of it."""
        fresh = self._places_path.with_suffix(".new")
        fresh.write_text(json.dumps(dict(self.places), indent=1) + "\n", encoding="utf-8")
        fresh.replace(self._places_path)

    @contextlib.contextmanager
    def _locked(self) -> Iterator[None]:
        with (self.folder / "simulate.lock").open("w", encoding="utf-8") as lock_file:
            try:
                fcntl.flock(lock_file, fcntl.LOCK_EX | fcntl.LOCK_NB)
            except OSError as error:
                raise SimulateError(
                    f"another simulated bench runs in {self.folder}; choose another folder"
                ) from error
            yield

    def _model(self, point: str, plan: MeterPlan) -> MeterModel:
        return MeterModel(plan, self.bench.signal(point), f"{self._seed} {point}")

    def _handheld(self, point: str, plan: MeterPlan, coupling: str) -> Handheld:
        link = (self.folder / f"{point}-meter").absolute()
        return Handheld(f"{point} meter", self._model(point, plan), coupling, link, self._clock)

    def _make_bench_meter(self, wait: Wait) -> ScpiMeter:
        rest = MeterModel(scpi_meter.PLAN, lambda _: DC_REST_V, f"{self._seed} rest")
        models = {scpi_meter.AC: self._model("output", scpi_meter.PLAN), scpi_meter.DC: rest}
        return ScpiMeter(models, self._clock, wait)

    def _bench_text(self) -> str:
        head = {"name": "Simulated bench", "simulate_url": str(self.places["control_url"])}
        output = {"name": "output", "meter": "bench meter", "function": "voltage", "coupling": "ac"}
        entries = [
            Entry(
                {
                    "name": "bench meter",
                    "driver": "scpi",
                    "address": self._bench_meter.address,
                    "identity": "SIMULATED BENCH",
                    "serial_number": "S-001",
                },
                {**output, "range": "10 V", "ac_filter": "20 Hz", "show": "dBu"},
                {"resolution": 10.0 / scpi_meter.PLAN.counts},
            ),
            _handheld_entry("input", self._input_meter, "ac", "dBu"),
            _handheld_entry("panel", self._panel_meter, "dc", "mV"),
        ]
        return bench_file.text(head, {"vu": "+4 dBu"}, entries)


def _handheld_entry(point: str, port: Handheld, coupling: str, show: str) -> Entry:
    meter = {"name": port.name, "driver": "fs9721", "address": port.address}
    channel = {"name": point, "meter": port.name, "function": "voltage", "coupling": coupling, "show": show}
    return Entry(meter, channel)
