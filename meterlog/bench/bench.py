"""The open bench: every link of a bench file, started and stopped together."""

import threading
from collections.abc import Callable

from meterlog.bench.bench_file import Bench
from meterlog.bench.clock import Clock
from meterlog.bench.drivers import load_driver
from meterlog.bench.link import Link
from meterlog.bench.pace import Pace
from meterlog.bench.status import LinkStatus
from meterlog.bench.wires import OpenWire
from meterlog.bench.wires import open_wire as open_any_wire
from meterlog.reading import Reading

WATCH_S = 0.5


class OpenBench:
    """`deliver` and `on_state` are called from the links' threads; see `Link`.

    BenchError when a driver cannot be loaded. A meter that is absent is no error: its link says so and waits.
    """

    def __init__(
        self,
        bench: Bench,
        clock: Clock,
        deliver: Callable[[Reading], None],
        on_state: Callable[[LinkStatus], None],
        *,
        open_wire: OpenWire = open_any_wire,
        pace: Pace | None = None,
    ) -> None:
        self._links = [
            Link(
                meter,
                bench.channels_of(meter.name),
                load_driver(meter.driver),
                clock,
                deliver=deliver,
                on_state=on_state,
                open_wire=open_wire,
                pace=pace,
            )
            for meter in map(bench.meter, dict.fromkeys(channel.meter for channel in bench.channels))
        ]
        self._stop = threading.Event()
        self._watcher = threading.Thread(target=self._watch, name="bench watch", daemon=True)

    def start(self) -> None:
        for link in self._links:
            link.start()
        self._watcher.start()

    def stop(self, timeout_s: float = 5.0) -> list[str]:
        """End all links at once; returns the meters whose drivers had not come back after timeout_s."""
        self._stop.set()
        for link in self._links:
            link.ask_to_stop()
        return [link.status.meter for link in self._links if not link.stop(timeout_s)]

    def statuses(self) -> list[LinkStatus]:
        """One for each meter, in the order of the channels."""
        return [link.status for link in self._links]

    def take_other(self, meter: str) -> None:
        """See `Link.take_other`."""
        next(link for link in self._links if link.status.meter == meter).take_other()

    def _watch(self) -> None:
        while not self._stop.wait(WATCH_S):
            for link in self._links:
                link.watch()
