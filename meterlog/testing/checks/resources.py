"""What a driver takes from the computer: nothing, and it leaves nothing behind."""

import gc
import os
import sys
import threading
import time
import tracemalloc
from collections.abc import Callable, Iterator
from contextlib import contextmanager, suppress

from meterlog.testing.specimen import Specimen
from meterlog.testing.stage import Stage, connected, usual

CYCLES = 30
WARM_UP = 10
BYTES_A_CYCLE = 200
NOISE_BYTES = 1 << 15
BLOCK_BYTES = 1 << 12
KEPT_BYTES = 1 << 14

FORBIDDEN = {
    "socket.__new__": "opens a socket",
    "socket.connect": "opens a connection",
    "subprocess.Popen": "starts a program",
    "os.system": "starts a program",
}
"""Audit events (PEP 578). Threads and sleep have none in every version, so those are watched by hand."""


def opens_nothing(specimen: Specimen) -> None:
    """The bench opens the wire. A dialect's file may be read; ports, sockets, threads are not its to open."""
    with _overheard() as heard:
        stage = connected(specimen, [usual(specimen, row) for row in specimen.readings])
        stage.seen()
        stage.close()
    assert not heard, f"the driver by itself {'; '.join(sorted(set(heard)))}"


def leaves_nothing_behind(specimen: Specimen) -> None:
    """Connected and closed many times: descriptors, threads and memory stay as they were."""
    for _ in range(WARM_UP):
        _one_connection(specimen)
    descriptors, threads = _descriptors(), threading.active_count()
    with _traced() as grown:
        for _ in range(CYCLES):
            _one_connection(specimen)
        grew = grown()
    left, running = _descriptors() - descriptors, threading.active_count() - threads
    assert left <= 0, f"{left} descriptors left open by {CYCLES} connections"
    assert running <= 0, f"{running} threads left"  # fewer: one of somebody else's has ended meanwhile
    assert grew < CYCLES * BYTES_A_CYCLE, f"{grew / CYCLES:.0f} bytes of memory left by each connection"


def keeps_no_more_than_it_needs(specimen: Specimen) -> None:
    """32 KiB of foreign bytes on one connection."""
    block = (specimen.foreign * BLOCK_BYTES)[:BLOCK_BYTES]
    stage = connected(specimen, [usual(specimen, specimen.readings[0])])
    with _traced() as grown:
        for _ in range(NOISE_BYTES // BLOCK_BYTES):
            stage.wire.send([(0.01, block)])
            stage.seen(1)
        grew = grown()
    assert grew < KEPT_BYTES, f"{grew} bytes kept of {NOISE_BYTES} bytes of noise"


def _one_connection(specimen: Specimen) -> None:
    stage = Stage(specimen, [usual(specimen, specimen.readings[0])])
    stage.connect()
    stage.seen()
    stage.close()


def _descriptors() -> int:
    """As far as the system lists them."""
    for folder in ("/proc/self/fd", "/dev/fd"):
        with suppress(OSError):
            return len(os.listdir(folder))  # noqa: PTH208 - a name may vanish while it is listed
    return 0


@contextmanager
def _traced() -> Iterator[Callable[[], int]]:
    """Gives what tells how much memory has come to be held since."""
    gc.collect()
    tracemalloc.start()
    try:
        yield _grown
    finally:
        tracemalloc.stop()


def _grown() -> int:
    gc.collect()
    return tracemalloc.get_traced_memory()[0]


class _Ear:
    """An audit hook cannot be taken out again, so there is one for all; it hears one thread while told to."""

    def __init__(self) -> None:
        self.thread = 0
        self.heard: list[str] = []
        self._fitted = False

    def fit(self) -> None:
        if not self._fitted:
            sys.addaudithook(self._hear)
        self._fitted = True

    def _hear(self, event: str, arguments: tuple[object, ...]) -> None:
        if self.thread != threading.get_ident():
            return
        if event in FORBIDDEN:
            self.heard.append(FORBIDDEN[event])
        if event == "open" and str(arguments[0]).startswith("/dev/"):
            self.heard.append(f"opens {arguments[0]}")


_EAR = _Ear()


@contextmanager
def _overheard() -> Iterator[list[str]]:
    _EAR.fit()
    _EAR.heard = heard = []
    start, sleep = threading.Thread.start, time.sleep
    _EAR.thread = threading.get_ident()
    _replace(lambda: heard.append("starts a thread"), lambda: heard.append("sleeps; let wire.read wait"))
    try:
        yield heard
    finally:
        _EAR.thread = 0
        threading.Thread.start, time.sleep = start, sleep  # type: ignore[method-assign]


def _replace(on_start: Callable[[], None], on_sleep: Callable[[], None]) -> None:
    start = threading.Thread.start

    def noted_start(thread: threading.Thread) -> None:
        on_start()
        start(thread)

    threading.Thread.start = noted_start  # type: ignore[method-assign, assignment]
    time.sleep = lambda seconds: on_sleep()
