"""Eight hand-held meters at once: what share of one core they take.

    python -m tests.timing.handhelds [SECONDS]

Each sends 2.5 frames a second on a pseudo-terminal, in pieces of four bytes as an adapter passes them on
(16 ms at 2400 baud), from another process. Beside the links stands the baseline: the same ports, read by as
many threads through the same wires, which drop the bytes. SECONDS for each, in rounds that take turns, for a
processor's pace changes with what else it does.
"""

import multiprocessing
import sys
import threading
import time
from collections.abc import Callable, Sequence
from contextlib import closing
from dataclasses import dataclass
from typing import Any

from rich.console import Console
from rich.table import Table

from meterlog.bench import Link, SystemClock
from meterlog.bench.wires import open_wire
from meterlog.simulate import fs9721_frame
from meterlog.testing import Terminal
from meterlog_drivers.handheld.fs9721 import driver
from tests.bench.kit import channel, entry

METERS, PERIOD_S, FRAME_BYTES, PIECE_BYTES, PIECE_S = 8, 0.4, 14, 4, 0.016
ROUNDS = 4


def talk(paths: Any, done: Any) -> None:
    """The meters' process."""
    terminals = [Terminal() for _ in range(METERS)]
    for terminal in terminals:
        paths.put(terminal.path)
    frame = fs9721_frame.encode("1.234", {"volt", "dc"})
    pieces = [frame[at : at + PIECE_BYTES] for at in range(0, len(frame), PIECE_BYTES)]
    while not done.is_set():
        for piece in pieces:
            for terminal in terminals:
                terminal.send(piece)
            time.sleep(PIECE_S)
        time.sleep(PERIOD_S - len(pieces) * PIECE_S)


def by_links(paths: Sequence[str], seconds: float) -> int:
    """Readings of all meters."""
    counts = [0] * len(paths)

    def counter(place: int) -> Callable[[object], None]:
        def count(reading: object) -> None:
            counts[place] += 1

        return count

    links = [
        Link(
            entry(path, "fs9721"),
            [channel()],
            driver,
            SystemClock(),
            deliver=counter(place),
            on_state=lambda status: None,
        )
        for place, path in enumerate(paths)
    ]
    for link in links:
        link.start()
    time.sleep(seconds)
    for link in links:
        link.stop(10.0)
    return sum(counts)


def by_nothing(paths: Sequence[str], seconds: float) -> int:
    """Frames of all meters, by their bytes."""
    counts = [0] * len(paths)
    stop = threading.Event()

    def drop(place: int, path: str) -> None:
        with closing(open_wire(path, driver.line)) as wire:
            while not stop.is_set():
                counts[place] += len(wire.read(0.25))

    threads = [threading.Thread(target=drop, args=item) for item in enumerate(paths)]
    for thread in threads:
        thread.start()
    time.sleep(seconds)
    stop.set()
    for thread in threads:
        thread.join()
    return sum(counts) // FRAME_BYTES


@dataclass(slots=True)
class Cost:
    """Sums over all rounds; cpu_s is the processor time of this process, which reads."""

    frames: int = 0
    took_s: float = 0.0
    cpu_s: float = 0.0

    @property
    def us_a_frame(self) -> float:
        return self.cpu_s / self.frames * 1e6


def measure(run: Callable[[Sequence[str], float], int], seconds: float, cost: Cost) -> None:
    paths, done = multiprocessing.Queue(), multiprocessing.Event()  # type: ignore[var-annotated]
    meters = multiprocessing.Process(target=talk, args=(paths, done))
    meters.start()
    try:
        known = [paths.get(timeout=30) for _ in range(METERS)]
        began_s, used_s = time.monotonic(), time.process_time()
        cost.frames += run(known, seconds)
        cost.took_s += time.monotonic() - began_s
        cost.cpu_s += time.process_time() - used_s
    finally:
        done.set()
        meters.join(10)


def main(seconds: float) -> None:
    multiprocessing.set_start_method("spawn")
    dropped, linked = Cost(), Cost()
    for _ in range(ROUNDS):
        measure(by_nothing, seconds / ROUNDS, dropped)
        measure(by_links, seconds / ROUNDS, linked)
    table = Table("meters", "frames/s", "of one core", "µs a frame", "times the baseline")
    for name, cost in (("eight, bytes dropped", dropped), ("eight, links, fs9721", linked)):
        table.add_row(
            name,
            f"{cost.frames / cost.took_s:.1f}",
            f"{cost.cpu_s / cost.took_s:.2%}",
            f"{cost.us_a_frame:.0f}",
            f"{cost.us_a_frame / dropped.us_a_frame:.1f}",
        )
    Console().print(table)


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 20.0)
