"""A scenario on real wires with everything of the daemon but its pages: links, drivers, session, record.

Real: sockets, pseudo-terminals, every byte on them, threads, the database, replay. Faster than real: the
one clock that unit, meters, links and session go by runs `speed` times as fast; the lines' baud rate with it.
Shorter than real: watches of some minutes last `WATCH`; the virtual runs have them whole.
"""

import re
import time
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from meterlog.bench import LinkState, OpenBench, load_bench
from meterlog.daemon.hub import Hub
from meterlog.daemon.session_runner import SessionRunner
from meterlog.daemon.sessions import Sessions, Unit
from meterlog.procedure import ActionKind, Event, Outcome, SessionEnded, SettledValue, load_procedure_text
from meterlog.reading import Reading
from meterlog.records import DataFolder, Writer, replay
from meterlog.report import write_report
from meterlog.shipped import shipped
from meterlog.simulate.look import GO_ON
from meterlog.simulate.rig import Rig
from meterlog.simulate.scenario import Scenario
from meterlog.simulate.technician import Technician
from meterlog.simulate.unit import Value
from tests.simulate.looking import look_of
from tests.simulate.truth import Taken

GLANCE_S = 0.05
LIMIT_S = 3000.0  # of the fast clock: a loaded machine is slow
WATCH = '"40 s"'
SPEED = 5.0


class FastClock:
    """The system's clock, so many times as fast."""

    def __init__(self, speed: float) -> None:
        self._speed, self._start_ns, self._utc_ns = speed, time.monotonic_ns(), time.time_ns()

    def monotonic_ns(self) -> int:
        return self._start_ns + round((time.monotonic_ns() - self._start_ns) * self._speed)

    def utc_ns(self) -> int:
        return self._utc_ns + self.monotonic_ns() - self._start_ns


@dataclass(frozen=True, slots=True)
class Worked:
    """What a run came to. `took_s` by the fast clock."""

    outcomes: list[Outcome]
    taken: list[Taken]
    took_s: float
    events: int
    differences: list[str]
    report: str

    @property
    def verdict(self) -> str:
        ended = [one for one in self.outcomes if isinstance(one, SessionEnded)]
        return ended[0].verdict if ended else "not ended"


def work_through(scenario: Scenario, folder: Path, seed: int, speed: float = SPEED) -> Worked:
    """The whole procedure, unattended, from the first reading to the report."""
    folder.mkdir(parents=True)
    clock = FastClock(speed)
    with Rig(folder / "bench", seed, scenario, speed=speed) as rig:
        desk = _Desk(rig, folder / "data", clock)
        try:
            return desk.work(seed, speed)
        finally:
            desk.close()


class _Desk:
    """The parts of a daemon round one session. `Acts` for the technician."""

    def __init__(self, rig: Rig, data: Path, clock: FastClock) -> None:
        self._rig, self._clock = rig, clock
        bench = load_bench(rig.bench_path)
        path = next(path for path in shipped("procedures") if path.stem == rig.scenario.name)
        text = re.sub(r'"[2-5] min"', WATCH, path.read_text(encoding="utf-8"))
        self._procedure = load_procedure_text(text, path.name, bench.references)
        self._database = DataFolder(data).open()
        self._writer = Writer(self._database)
        self.failed: list[str] = []
        self._runner = SessionRunner(
            bench=bench, writer=self._writer, clock=clock, hub=Hub(), failed=lambda: self.failed.append("it")
        )
        self._shown: dict[str, float | None] = {}
        self._links = OpenBench(bench, clock, self._read, self._runner.deliver)
        self._sessions = Sessions(self._database, self._writer, bench, clock)
        self.outcomes: list[Outcome] = []
        self.taken: list[Taken] = []

    def work(self, seed: int, speed: float) -> Worked:
        self._runner.start()
        self._links.start()
        _wait_until(lambda: all(one.state is LinkState.LIVE for one in self._links.statuses()))
        began_ns = self._clock.monotonic_ns()
        session = self._runner.begin(self._begin)
        technician = Technician(self._rig.scenario.steps, self, seed)
        while not self._running.ended and not self.failed:
            technician.see(self._look())
            assert self._clock.monotonic_ns() - began_ns < LIMIT_S * 1e9, self._view.guide
            time.sleep(GLANCE_S / speed)
        took_s = (self._clock.monotonic_ns() - began_ns) / 1e9
        self._writer.flush()
        replayed = replay(self._database, session)
        page = self._rig.folder / "report.html"
        write_report(self._database, session, page)
        return Worked(
            self.outcomes, self.taken, took_s, replayed.events, list(replayed.differences), page.read_text()
        )

    def _begin(self) -> Any:
        running = self._running = self._sessions.begin(self._procedure, Unit("simulated", "1", "technician"))
        apply = running.engine.apply
        self._view = running.view  # the last one: a glance must not keep the session from its work

        def watched(event: Event) -> list[Outcome]:
            fresh = apply(event)
            self._view = running.view
            self.outcomes += fresh
            self.taken += [self._beside_the_truth(one) for one in fresh if self._is_read(one)]
            return fresh

        running.engine.apply = watched  # type: ignore[method-assign]
        return running

    def _is_read(self, outcome: Outcome) -> bool:
        return isinstance(outcome, SettledValue) and outcome.channel in self._rig.scenario.points

    def _beside_the_truth(self, value: Any) -> Taken:
        bench = self._rig.bench
        return Taken.now(value, bench, bench.now_s())

    def _look(self) -> Any:
        return look_of(self._view, self._shown, self._rig.bench, self._clock.monotonic_ns() / 1e9)

    def _read(self, reading: Reading) -> None:
        self._shown[reading.channel] = reading.value
        self._runner.deliver(reading)

    def turn(self, trimmer: str, by: float) -> None:
        self._rig.bench.turn(trimmer, by=by)

    def set(self, control: str, value: Value) -> None:
        self._rig.bench.set({control: value})

    def press(self, key: str) -> None:
        assert key == GO_ON
        self._runner.act(ActionKind.GO_ON)

    def enter(self, text: str) -> None:
        self._runner.act(ActionKind.ENTER, text)

    def close(self) -> None:
        self._links.stop()
        self._runner.stop()
        self._writer.close()
        self._database.dispose()


def _wait_until(true: Any) -> None:
    end_s = time.monotonic() + 60
    while not true():
        assert time.monotonic() < end_s, "the meters never came"
        time.sleep(0.02)
