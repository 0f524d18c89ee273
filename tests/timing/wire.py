"""From the wire to the engine at a fast buffered SCPI meter's own pace: what it costs, and that none is lost.

    python -m tests.timing.wire [SECONDS]

The meter is another process, which measures PACE readings a second into its memory. This process, held to one
core where the system allows it, reads them through socket, driver and link into three ends: nothing (the
baseline: the bytes are received and dropped), a list, and a session's engine in a step that waits for a level
to settle. Printed are the readings that came, those lost, the share of one core, and what it could sustain at
most: PACE over that share. Every reading has its own number as its value, so what is lost is seen.
"""

import itertools
import multiprocessing
import os
import sys
import threading
import time
from collections.abc import Callable
from typing import Any

from rich.console import Console
from rich.table import Table

from meterlog.bench import Link, SystemClock
from meterlog.bench.pace import Pace
from meterlog.bench.wires import open_wire
from meterlog.procedure import Acted, ActionKind, Engine, Measured, load_procedure_text
from meterlog.reading import Reading
from meterlog.testing import Instrument
from meterlog_drivers.scpi import driver as scpi
from tests.bench.kit import channel, entry
from tests.drivers.fake_memory import FakeMemory
from tests.procedure.bench import HEAD
from tests.procedure.test_patterns import ADJUST

PACE = 22_000
"""Readings a second."""


class FastMemory(FakeMemory):
    """Numbers its readings from 1 V on in steps of 1e-8 V: a level as still as a level can be."""

    def __init__(self) -> None:
        super().__init__(time.monotonic_ns, 1.0 / PACE, holds=200_000)
        self.transfer_s = 0.0

    def _fetch(self, most: int) -> Any:
        given, self._kept = self._kept[:most], self._kept[most:]
        text = ",".join(f"+1.{number % 10_000_000:08d}E+00" for number in given)
        return [(0.0, f"#{len(str(len(text)))}{len(text)}{text}\n".encode("ascii"))]


def serve(address: Any, done: Any, cores: set[int]) -> None:
    """The meter's process, on the other cores."""
    if cores:
        os.sched_setaffinity(0, cores)
    with Instrument(FastMemory()) as instrument:
        address.put(instrument.address)
        done.wait()


class Baseline:
    """Receives the bytes of as many readings, in the same blocks, and drops them."""

    def __init__(self, address: str) -> None:
        self._wire = open_wire(address, scpi.driver.line)
        self.count = 0

    def run(self, seconds: float) -> None:
        self._wire.write(b"TRIG:SOUR IMM;:TRIG:COUN INF;:INIT\n")
        end = time.monotonic() + seconds
        while time.monotonic() < end:
            time.sleep(0.05)
            self._wire.write(b"R? 1000\n")
            data = self._wire.read(1.0)
            while not data.endswith(b"\n"):
                data += self._wire.read(1.0)
            self.count += data.count(b",") + 1
        self._wire.close()


class Reader:
    """A link whose readings go to `take`."""

    def __init__(self, address: str, take: Callable[[Reading], object]) -> None:
        self.numbers: list[float] = []
        self._take = take
        self.lost_link = threading.Event()
        self._link = Link(
            entry(address, "scpi", dialect="memory-band", options={"buffered": True}),
            [channel()],
            scpi.driver,
            SystemClock(),
            deliver=self._deliver,
            on_state=lambda status: None,
            pace=Pace(),
        )

    def _deliver(self, reading: Reading) -> None:
        if reading.value is not None:
            self.numbers.append(reading.value)
        self._take(reading)

    def run(self, seconds: float) -> None:
        self._link.start()
        time.sleep(seconds)
        self._link.stop(10.0)

    @property
    def count(self) -> int:
        return len(self.numbers)

    @property
    def lost(self) -> int:
        steps = [round((b - a) * 1e8) for a, b in itertools.pairwise(self.numbers)]
        return sum(step - 1 for step in steps if step != 1)


def engine() -> Callable[[Reading], object]:
    """A session that takes the level as found, then waits for a hand that never comes: 1 V is not +4 dBu."""
    running = Engine(load_procedure_text(HEAD + ADJUST, "bench.toml"))
    running.apply(Acted(0, ActionKind.START))
    began_ns = time.monotonic_ns()

    def take(reading: Reading) -> object:
        return running.apply(Measured(reading.monotonic_ns - began_ns, reading))

    return take


def measure(name: str, seconds: float, make: Callable[[str], Any], others: set[int]) -> tuple[str, ...]:
    """One row of the table."""
    address, done = multiprocessing.Queue(), multiprocessing.Event()  # type: ignore[var-annotated]
    meter = multiprocessing.Process(target=serve, args=(address, done, others))
    meter.start()
    try:
        end = make(address.get(timeout=30))
        began, used = time.monotonic(), time.process_time()
        end.run(seconds)
        took, cpu = time.monotonic() - began, time.process_time() - used
    finally:
        done.set()
        meter.join(10)
    each = cpu / max(1, end.count)
    lost = str(getattr(end, "lost", "-"))
    return (
        name,
        f"{end.count / took:,.0f}",
        lost,
        f"{cpu / took:.0%}",
        f"{each * 1e6:.1f}",
        f"{1 / each:,.0f}",
    )


def held_to_one_core() -> set[int]:
    """This process to one; returns the others, none where the system cannot do it."""
    if not hasattr(os, "sched_setaffinity"):
        return set()
    cores = os.sched_getaffinity(0)
    os.sched_setaffinity(0, {min(cores)})
    return cores - {min(cores)}


def main(seconds: float) -> None:
    multiprocessing.set_start_method("spawn")
    ends: dict[str, Callable[[str], Any]] = {
        "bytes dropped (baseline)": Baseline,
        "link: a list of readings": lambda address: Reader(address, lambda reading: None),
        "engine, a step that settles": lambda address: Reader(address, engine()),
    }
    others = held_to_one_core()
    table = Table("end", "readings/s", "lost", "of one core", "µs a reading", "at most, a second")
    for name, make in ends.items():
        table.add_row(*measure(name, seconds, make, others))
    Console().print(table)


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 5.0)
