"""The whole bench on real wires: unit, meters, control server, and the files that tell where they are."""

import contextlib
import fcntl
import json
import os
from collections.abc import Iterator, Mapping
from pathlib import Path

from meterlog.simulate import bench_file, meters
from meterlog.simulate.bench import SimulatedBench
from meterlog.simulate.clock import RunningClock
from meterlog.simulate.control import Control
from meterlog.simulate.control_server import ControlServer
from meterlog.simulate.errors import SimulateError
from meterlog.simulate.scenario import Scenario
from meterlog.simulate.scenarios.tape_machine_steps import TAPE_MACHINE
from meterlog.simulate.scpi_server import ScpiServer
from meterlog.simulate.scpi_source import ScpiSource


class Rig:
    """Everything of one folder. It runs inside `with`, once.

    `speed`: how much faster than real time unit and meters are; the bytes on the wires stay what they are.
    """

    def __init__(
        self,
        folder: Path,
        seed: int,
        scenario: Scenario = TAPE_MACHINE,
        *,
        control_port: int = 0,
        meter_port: int = 0,
        speed: float = 1.0,
    ) -> None:
        self.folder = folder
        self.scenario = scenario
        clock = RunningClock(speed)
        self.bench = SimulatedBench(scenario.unit(seed), clock)
        self._by_point = meters.ports_of(
            scenario, self.bench, clock, folder, seed=seed, meter_port=meter_port
        )
        self.ports = {port.name: port for port in self._by_point.values()}
        self._source = _source(self.bench) if scenario.driven_source else None
        if self._source is not None:
            self.ports[self._source.name] = self._source
        self._control_port = control_port
        self._control = Control(self.bench, self.ports)
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
            "scenario": self.scenario.name,
            "control_url": self._server.url,
            "bench_file": str(self.bench_path),
            **{name.replace(" ", "_"): port.address for name, port in self.ports.items()},
            "pid": os.getpid(),
        }

    def _start(self, opened: contextlib.ExitStack) -> None:
        self.folder.mkdir(parents=True, exist_ok=True)
        opened.enter_context(self._locked())
        try:
            for port in self.ports.values():
                port.start()
                opened.callback(port.close)
            self._server = ControlServer(self._control, self._control_port)
        except OSError as error:
            raise SimulateError(
                f"a port is in use: {error}; choose another, or 0 for any free one"
            ) from error
        self._server.start()
        opened.callback(self._server.close)
        self.bench_path.write_text(self._bench_text(), encoding="utf-8")
        self._tell_places()
        opened.callback(self._places_path.unlink, missing_ok=True)

    @property
    def bench_path(self) -> Path:
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

    def _bench_text(self) -> str:
        head = {"name": "Simulated bench", "simulate_url": str(self.places["control_url"])}
        entries = [
            meters.entry_of(self.scenario, name, port.address) for name, port in self._by_point.items()
        ]
        source = None if self._source is None else _source_entry(self._source)
        return bench_file.text(head, self.scenario.levels, entries, source)


def _source(bench: SimulatedBench) -> ScpiServer:
    return ScpiServer("source", lambda _: ScpiSource(bench))


def _source_entry(server: ScpiServer) -> bench_file.Source:
    head = {"name": server.name, "driver": "scpi", "address": server.address, "most": "+20 dBu"}
    return bench_file.Source({**head, "identity": "SIMULATED BENCH"}, {"amplitude": "rms"})
