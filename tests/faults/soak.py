"""python -m tests.faults.soak [CYCLES]: an adapter unplugged and plugged in again, thousands of times.

Each time a link must find it again and give a reading. Prints descriptors, threads and memory.
"""

import os
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from pathlib import Path
from tempfile import TemporaryDirectory

from meterlog.bench import Link, LinkState, LinkStatus, SystemClock
from meterlog.reading import Reading
from meterlog.testing import HURRIED, PATIENCE_S, Terminal
from meterlog_drivers.handheld import fs9721
from tests.bench.kit import channel, entry

FRAME = bytes.fromhex("1720354D5B617F8297A0B0C0D4E0")
"""1.234 V DC: row fs9721-01 of tests/drivers/vectors/fs9721.csv."""
FAST = replace(HURRIED, backoff_first_s=0.005, backoff_last_s=0.02, poll_wait_s=0.02)
ROWS = 10
EXTRA_DESCRIPTORS = 3
"""One pseudo-terminal may be half open while it is counted."""


@dataclass(frozen=True, slots=True)
class Figures:
    cycle: int
    descriptors: int
    threads: int
    memory_kb: int

    @classmethod
    def now(cls, cycle: int) -> "Figures":
        pages = int(Path("/proc/self/statm").read_text(encoding="ascii").split()[1])
        descriptors = sum(1 for _ in Path("/proc/self/fd").iterdir())
        return cls(cycle, descriptors, threading.active_count(), pages * os.sysconf("SC_PAGE_SIZE") // 1024)


class Ear:
    """Counts; keeps nothing, so that what grows is the link's."""

    def __init__(self) -> None:
        self.readings = 0
        self.state = LinkState.CONNECTING
        self._news = threading.Condition()

    def deliver(self, reading: Reading) -> None:
        with self._news:
            self.readings += 1
            self._news.notify_all()

    def on_state(self, status: LinkStatus) -> None:
        with self._news:
            self.state = status.state
            self._news.notify_all()

    def wait_for(self, what: Callable[[], bool]) -> None:
        with self._news:
            assert self._news.wait_for(what, PATIENCE_S), (self.state, self.readings)


def soak(cycles: int, rows: int = ROWS) -> Iterator[Figures]:
    """The figures after each part of the cycles; the first after one part, when everything is loaded."""
    ear = Ear()
    with TemporaryDirectory() as folder, Terminal(Path(folder) / "adapter") as terminal:
        link = Link(
            entry(terminal.path, fs9721.driver.name),
            [channel()],
            fs9721.driver,
            SystemClock(),
            deliver=ear.deliver,
            on_state=ear.on_state,
            pace=FAST,
        )
        link.start()
        with terminal.talking(FRAME, 0.01):
            for cycle in range(1, cycles + 1):
                _unplug_and_plug(terminal, ear)
                if cycle % max(1, cycles // rows) == 0:
                    yield Figures.now(cycle)
        assert link.stop(PATIENCE_S)


def flat(figures: list[Figures]) -> bool:
    """Nothing has grown since the first part: no thread, some descriptors at most, 5 % of memory."""
    first, last = figures[0], figures[-1]
    return (
        last.threads <= first.threads
        and last.descriptors <= first.descriptors + EXTRA_DESCRIPTORS
        and last.memory_kb <= first.memory_kb * 1.05
    )


def _unplug_and_plug(terminal: Terminal, ear: Ear) -> None:
    seen = ear.readings
    ear.wait_for(lambda: ear.readings > seen)
    terminal.unplug()
    ear.wait_for(lambda: ear.state is LinkState.LOST)
    terminal.plug()


def main() -> int:
    cycles = int(sys.argv[1]) if len(sys.argv) > 1 else 2000
    began_s, figures = time.monotonic(), []
    print("| unplugged | descriptors | threads | memory, kB |\n|---|---|---|---|")
    for now in soak(cycles):
        figures.append(now)
        print(f"| {now.cycle} | {now.descriptors} | {now.threads} | {now.memory_kb} |", flush=True)
    print(f"\n{time.monotonic() - began_s:.0f} s; {'flat' if flat(figures) else 'NOT flat'}")
    return int(not flat(figures))


if __name__ == "__main__":
    sys.exit(main())
