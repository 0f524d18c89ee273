"""A bench without wires for the daemon: its files, a clock that stands still, readings made by hand.

0 dBu = sqrt(0.6) V (ITU-R V.574), so +4 dBu = 1.2277 V; everything else here is invented for the tests.
"""

import json
import threading
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, cast

from meterlog.bench import Bench, load_bench
from meterlog.daemon.hub import Hub
from meterlog.daemon.running import Running
from meterlog.daemon.session_runner import SessionRunner
from meterlog.daemon.sessions import Sessions, Unit
from meterlog.daemon.timeline import Timeline
from meterlog.procedure import ActionKind, Engine, Event, Outcome, load_procedure_text
from meterlog.quantity import Unit as BaseUnit
from meterlog.reading import Coupling, Reading, State
from meterlog.records import Instrument, NotStored, Writer

NS = 1_000_000_000
PATIENCE_S = 120.0  # for a busy machine; hardly anything here takes a second by itself
PLUS_4_DBU = 1.2277
UNIT = Unit("Two-track recorder", "17", "me")

BENCH = """
[bench]
name = "Test bench"
[[meter]]
name = "bench meter"
driver = "scpi"
address = "TCPIP::127.0.0.1::9::SOCKET"
serial_number = "S-001"
calibrated = 2026-03-01
[[meter]]
name = "spare meter"
driver = "scpi"
address = "TCPIP::127.0.0.1::19::SOCKET"
[[channel]]
name = "output"
meter = "bench meter"
function = "voltage"
coupling = "ac"
show = "dBV"
[[channel]]
name = "spare"
meter = "spare meter"
function = "voltage"
coupling = "ac"
"""

PROCEDURE = """
[procedure]
title = "Two measurements"
revision = "1"
unit = "Any"
[[channel]]
name = "output"
unit = "V"
coupling = "ac"
show = "dBu"
[[step]]
id = "warm-up"
title = "Warm up"
pattern = "warm-up"
time = "1 s"
[[step]]
id = "level"
title = "Level"
pattern = "measure"
setup = "Play the tone."
channel = "output"
target = "+4 dBu"
tolerance = "0.5 dB"
settle = "0.1 dB"
dwell = "0.8 s"
[[step]]
id = "level-again"
title = "Level again"
pattern = "measure"
setup = "Play it again."
channel = "output"
settle = "0.1 dB"
dwell = "0.8 s"
"""


def bench_in(folder: Path, text: str = BENCH) -> Bench:
    path = folder / "bench.toml"
    path.write_text(text)
    return load_bench(path)


def procedure(text: str = PROCEDURE) -> Any:
    return load_procedure_text(text, "test.toml")


def reading(at_ns: int, value: float | None = PLUS_4_DBU, channel: str = "output", **fields: Any) -> Reading:
    shown = {
        "monotonic_ns": at_ns,
        "time_ns": at_ns,
        "channel": channel,
        "value": value,
        "unit": BaseUnit.VOLT,
        "coupling": Coupling.AC,
        "state": State.OK if value is not None else State.OVERLOAD,
        "resolution": 1e-4,
    }
    return Reading(**(shown | fields))  # type: ignore[arg-type]


class StillClock:
    """Moves only when told to; wall time runs `wall_ns` ahead of the monotonic one."""

    def __init__(self, now_ns: int = 1000 * NS, wall_ns: int = 1_800_000_000 * NS) -> None:
        self.now_ns = now_ns
        self.wall_ns = wall_ns

    def monotonic_ns(self) -> int:
        return self.now_ns

    def utc_ns(self) -> int:
        return self.now_ns + self.wall_ns


@dataclass
class MemoryWriter:
    """Keeps what a writer would store. While `full`, nothing is stored; `gate` holds a commit up."""

    events: list[Event] = field(default_factory=list)
    stored: list[Outcome] = field(default_factory=list)
    instruments: list[Instrument] = field(default_factory=list)
    full: bool = False
    refuse: Callable[[Event], None] = lambda _: None
    gate: threading.Event = field(default_factory=threading.Event)
    reached: threading.Event = field(default_factory=threading.Event)
    _waiting: list[Outcome] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.gate.set()

    def event(self, session_id: int, sequence: int, event: Event) -> None:
        self.refuse(event)
        assert sequence == len(self.events) + 1, "events are numbered without a gap"
        self.events.append(event)

    def commit(self, session_id: int, sequence: int, outcomes: Sequence[Outcome]) -> None:
        assert sequence == len(self.events)
        self._waiting += outcomes
        self.reached.set()
        assert self.gate.wait(PATIENCE_S)
        self.flush()

    def flush(self) -> None:
        if self.full:
            raise NotStored("the disk is full; free some space")
        self.stored += self._waiting
        self._waiting.clear()

    def instrument(self, session_id: int, instrument: Instrument) -> None:
        self.instruments.append(instrument)

    def status(self) -> dict[str, Any]:
        return {"pending": len(self._waiting), "error": "full" if self.full else ""}


class ListeningHub(Hub):
    """Remembers what was said, as JSON that was really written and read: it counts as a page."""

    listened = True

    def __init__(self) -> None:
        super().__init__()
        self.lives: list[dict[str, Any]] = []
        self.said: list[dict[str, Any]] = []

    def _offer(self, text: str, *, live: bool) -> None:
        if live:
            self.lives.append(json.loads(text))
        super()._offer(text, live=live)

    def say(self, message: dict[str, Any], *, lasting: bool = False) -> None:
        super().say(message, lasting=lasting)
        self.said.append(message)

    def of(self, kind: str) -> list[dict[str, Any]]:
        return [message for message in self.said if message["type"] == kind]


class Desk:
    """A runner at work with its thread, and what a test needs to push it on."""

    def __init__(self, folder: Path, writer: Any = None, sessions: Sessions | None = None) -> None:
        self.clock = StillClock()
        self.writer: Any = MemoryWriter() if writer is None else writer
        self.hub = ListeningHub()
        self.failed = threading.Event()
        self.bench = bench_in(folder)
        self.sessions = sessions
        self.runner = SessionRunner(
            bench=self.bench,
            writer=cast(Writer, self.writer),
            clock=self.clock,
            hub=self.hub,
            failed=self.failed.set,
        )

    def __enter__(self) -> "Desk":
        self.runner.start()
        return self

    def __exit__(self, *_: object) -> None:
        self.runner.stop()

    def begin(self, text: str = PROCEDURE) -> int:
        return self.runner.begin(lambda: self._made(text))

    def _made(self, text: str) -> Running:
        if self.sessions is not None:
            return self.sessions.begin(procedure(text), UNIT)
        running = Running(1, Engine(procedure(text)), Timeline(self.clock.now_ns), self.writer)
        running.acted(self.clock.now_ns, ActionKind.START)
        return running

    def barrier(self) -> None:
        """Return when everything put in so far has been taken, and told."""
        self.runner.ask(lambda: None)
        self.runner.ask(lambda: None)

    def wait(self, seconds: float) -> None:
        """Let time pass in ticks, without readings."""
        for _ in range(round(seconds / 0.25)):
            self.clock.now_ns += NS // 4
            self.barrier()

    def measure(self, seconds: float, value: float | None = PLUS_4_DBU, **fields: Any) -> None:
        """Let time pass with a reading each fifth of a second."""
        for _ in range(round(seconds / 0.2)):
            self.clock.now_ns += NS // 5
            self.runner.deliver(reading(self.clock.now_ns, value, **fields))
            self.barrier()

    def press(self) -> None:
        reply = self.runner.act(ActionKind.GO_ON)
        assert reply.accepted, reply.message

    def to_level(self) -> None:
        """Begin, warm up, set up: the next readings settle the first level."""
        self.begin()
        self.wait(1.5)
        self.press()


def wait_until(true: Callable[[], bool]) -> None:
    end_s = time.monotonic() + PATIENCE_S
    while not true():
        assert time.monotonic() < end_s, "waited too long"
        time.sleep(0.01)
