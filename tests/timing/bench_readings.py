"""Cost of one reading on its way, each stage beside a baseline that reads the same input and does nothing.

    make bench

The table's brackets are the ratio to the fastest line of a group. Numbers are invented, nothing is asserted.
"""

import random
from collections.abc import Callable
from pathlib import Path

import pytest
from pytest_benchmark.fixture import BenchmarkFixture

from meterlog.daemon.hub import Hub
from meterlog.detect import Settled
from meterlog.procedure import Acted, ActionKind, Engine, Measured, load_procedure_text
from meterlog.reading import State
from meterlog.simulate import fs9721_frame
from meterlog_drivers.handheld.fs9721 import FORMAT
from tests.daemon.desk import NS, Desk, reading
from tests.procedure.bench import HEAD, Bench
from tests.procedure.test_patterns import ADJUST

COUNT = 2000
_random = random.Random(1)
VALUES = [round(1.0 + _random.gauss(0, 3e-4), 4) for _ in range(COUNT)]
FRAMES = b"".join(fs9721_frame.encode(f"{value:.3f}", {"volt", "ac"}) for value in VALUES)
PIECES = [FRAMES[start : start + 4] for start in range(0, len(FRAMES), 4)]
"""As an adapter hands them over at 2400 baud, 16 ms each."""
STEP = ADJUST.replace('hold = "1.5 s"', "") + 'hold = "1000000 s"\n'


def loop() -> float:
    """The baseline: every value looked at once."""
    total = 0.0
    for value in VALUES:
        total += value
    return total


def settled() -> None:
    detector = Settled(lambda value: 0.01 * value, 1.0)
    for index, value in enumerate(VALUES):
        detector.update(0.1 * index, value, State.OK, resolution=1e-4)


@pytest.mark.parametrize("stage", [loop, settled], ids=["baseline", "settled"])
@pytest.mark.benchmark(group="detector, 2000 readings")
def test_detector(benchmark: BenchmarkFixture, stage: Callable[[], object]) -> None:
    benchmark(stage)


@pytest.fixture(scope="module")
def events() -> list[Measured]:
    bench = Bench(STEP)
    made = []
    for index, value in enumerate(VALUES):
        bench.now_s = 0.1 * index
        made.append(Measured(round(bench.now_s * 1e9), bench.reading("output", value)))
    return made


@pytest.mark.parametrize("stage", ["baseline", "engine"])
@pytest.mark.benchmark(group="engine, 2000 readings of an adjust step")
def test_engine(benchmark: BenchmarkFixture, events: list[Measured], stage: str) -> None:
    procedure = load_procedure_text(HEAD + STEP, "bench.toml")

    def run() -> None:
        engine = Engine(procedure)
        engine.apply(Acted(0, ActionKind.START))
        for event in events:
            engine.apply(event)

    benchmark(loop if stage == "baseline" else run)


def read_bytes() -> int:
    """The baseline: the same pieces, and every byte looked at once."""
    total = 0
    for piece in PIECES:
        for byte in piece:
            total += byte
    return total


def decode() -> None:
    decoder = FORMAT.decoder()
    shown = sum(len(decoder.feed(piece, number)) for number, piece in enumerate(PIECES))
    assert shown == COUNT


@pytest.mark.parametrize("stage", [read_bytes, decode], ids=["baseline", "fs9721"])
@pytest.mark.benchmark(group="decoder, 2000 frames of 14 bytes")
def test_decoder(benchmark: BenchmarkFixture, stage: Callable[[], object]) -> None:
    benchmark(stage)


class Ear(Hub):
    """A page is there, or none."""

    def __init__(self, listened: bool) -> None:
        super().__init__()
        self._listened = listened

    @property
    def listened(self) -> bool:
        return self._listened


@pytest.fixture
def desk(tmp_path: Path) -> Desk:
    made = Desk(tmp_path)
    with made:
        made.to_level()
    return made


def runner_reads(desk: Desk, count: int = 200) -> None:
    """On the session's own path, the thread left out."""
    for index in range(count):
        desk.clock.now_ns += NS // 50
        desk.runner._measured(reading(desk.clock.now_ns, 1.0 + 1e-3 * (index % 7)))
        desk.runner._tick()
        desk.runner.announcer.now(desk.runner.running)


def engine_reads(desk: Desk, count: int = 200) -> None:
    """The baseline: the session without its mouth."""
    assert desk.runner.running is not None
    for index in range(count):
        desk.clock.now_ns += NS // 50
        desk.runner.running.measured(reading(desk.clock.now_ns, 1.0 + 1e-3 * (index % 7)))


@pytest.mark.parametrize("ears", ["baseline", "nobody listens", "one page"])
@pytest.mark.benchmark(group="daemon, 200 readings")
def test_telling(benchmark: BenchmarkFixture, desk: Desk, ears: str) -> None:
    desk.runner.announcer._hub = Ear(ears == "one page")
    benchmark(engine_reads if ears == "baseline" else runner_reads, desk)
