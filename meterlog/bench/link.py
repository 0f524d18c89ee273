"""One meter, one thread: open, identify, poll, and again whenever something fails. It never gives up.

    connecting --reading--> live --silence--> stale --reading--> live
    any --failure--> lost --reading--> live

Only the link's own thread opens, uses and closes the wire: a port closed by another thread may by then be
somebody else's. Others set the stop flag; every call on a wire ends by itself in time.
"""

import logging
import threading
from collections.abc import Callable, Sequence
from contextlib import closing

from meterlog.bench.bench_model import Channel, MeterEntry, settings_of
from meterlog.bench.clock import Clock
from meterlog.bench.drivers import line_for
from meterlog.bench.intake import reading_of
from meterlog.bench.pace import Backoff, Pace
from meterlog.bench.recognise import AnotherMeter, insist_on
from meterlog.bench.status import LinkStatus, Standing
from meterlog.bench.wires import OpenWire
from meterlog.bench.wires import open_wire as open_any_wire
from meterlog.bench.wires.counted import CountedWire
from meterlog.errors import MeterlogError
from meterlog.reading import (
    Driver,
    Garbled,
    Indication,
    Meter,
    Reading,
    Remarks,
    Unanswered,
    WireLost,
    WrongMeter,
)

IDLE_S = 0.005

log = logging.getLogger(__name__)


class Link:
    """Gives the readings of one meter to `deliver` and its changes of state to `on_state`.

    channels: those of this meter, by their displays.

    Both are called from the link's thread (`on_state` also from the one that calls `watch`), must return
    soon and must not raise.
    """

    def __init__(
        self,
        entry: MeterEntry,
        channels: Sequence[Channel],
        driver: Driver,
        clock: Clock,
        *,
        deliver: Callable[[Reading], None],
        on_state: Callable[[LinkStatus], None],
        open_wire: OpenWire = open_any_wire,
        pace: Pace | None = None,
    ) -> None:
        self._entry = entry
        self._channels = {channel.display: channel for channel in channels}
        self._driver = driver
        self._clock = clock
        self._deliver = deliver
        self._open_wire = open_wire
        self._pace = pace or Pace()
        self._backoff = Backoff(self._pace.backoff_first_s, self._pace.backoff_last_s)
        self._stale_after_s = self._pace.stale_least_s
        self._standing = Standing(entry.name, clock, on_state)
        self._stop = threading.Event()
        self._hurry = threading.Event()  # ends the pause between two attempts
        self._thread = threading.Thread(target=self._run, name=f"meter {entry.name}", daemon=True)

    @property
    def status(self) -> LinkStatus:
        return self._standing.status

    def start(self) -> None:
        self._thread.start()

    def ask_to_stop(self) -> None:
        self._stop.set()
        self._hurry.set()

    def take_other(self) -> None:
        """The meter that is refused because another one answered before it is meant: read it from now on."""
        self._standing.take_other()
        self._hurry.set()

    def stop(self, timeout_s: float = 5.0) -> bool:
        """Ask the thread to end and wait for it; False if its driver has not come back by then."""
        self.ask_to_stop()
        if self._thread.ident is not None:
            self._thread.join(timeout_s)
        return not self._thread.is_alive()

    def watch(self) -> None:
        """Say stale even while the thread hangs inside a driver or a library. Call it now and then."""
        self._standing.judge(self._stale_after_s)

    def _run(self) -> None:
        self._standing.opening(f"opening {self._entry.address}")
        while not self._stop.is_set():
            pause_s = self._attempt()
            self._hurry.wait(pause_s)
            self._hurry.clear()

    def _attempt(self) -> float:
        """One connection from opening to its end; returns the seconds to wait before the next."""
        try:
            self._serve()
        except WrongMeter as other:
            self._standing.lost(str(other), other.found if isinstance(other, AnotherMeter) else None)
            return self._pace.other_meter_s
        except (MeterlogError, ValueError) as fault:
            self._standing.lost(str(fault))
        except Exception as fault:
            # Drivers are strangers: no fault of theirs may end the thread.
            log.debug("%s", self._entry.name, exc_info=True)
            self._standing.lost(f"driver {self._entry.driver} failed: {type(fault).__name__}: {fault}")
        return self._backoff.next_s()

    def _serve(self) -> None:
        settings = settings_of(self._entry, list(self._channels.values()))
        line = self._entry.line.over(line_for(self._driver, settings))
        wire = CountedWire(self._open_wire(self._entry.address, line), self._count_bytes)
        with closing(wire):
            self._standing.counts.opened += 1
            self._stop.wait(line.quiet_s)  # leads and boards that wake up with their port
            meter = self._driver.connect(wire, settings, self._clock.monotonic_ns)
            with closing(meter):
                insist_on(meter.identity, self._entry.identity, self.status.identity)
                self._standing.connected(meter.identity)
                remarks = meter.remarks if isinstance(meter, Remarks) else tuple
                try:
                    self._poll_until_stopped(meter, remarks)
                finally:
                    self._hear(remarks)  # the last ones may say why it has come to an end

    def _poll_until_stopped(self, meter: Meter, remarks: Callable[[], Sequence[str]]) -> None:
        out_of_step = False
        while not self._stop.is_set():
            asked_ns = self._clock.monotonic_ns()
            try:
                indications = meter.poll(self._pace.poll_wait_s)
            except (Unanswered, Garbled):
                if out_of_step:
                    raise
                out_of_step = True
                self._standing.counts.resyncs += 1
                meter.resynchronise()
                continue
            if indications:
                out_of_step = False
                self._take(indications, meter.period_s)
            self._hear(remarks)
            if not indications:
                self._look_at_silence(asked_ns)

    def _take(self, indications: Sequence[Indication], period_s: float) -> None:
        """Counted once for all of a poll: a buffered meter gives thousands a second."""
        self._backoff.reset()
        self._stale_after_s = self._pace.stale_after_s(period_s)
        contradictions = [
            self._pass_on(indication, channel)
            for indication in indications
            if (channel := self._channels.get(indication.display))  # None: a display that nobody asked for
        ]
        self._standing.counts.readings += len(contradictions)
        self._standing.counts.unfitting += len(contradictions) - contradictions.count("")
        if contradictions:
            self._standing.live(contradictions[-1])

    def _pass_on(self, indication: Indication, channel: Channel) -> str:
        reading, contradiction = reading_of(indication, channel, self._clock)
        self._deliver(reading)
        return contradiction

    def _hear(self, remarks: Callable[[], Sequence[str]]) -> None:
        for remark in remarks():
            self._standing.remark(remark)

    def _look_at_silence(self, since_ns: int) -> None:
        if self._clock.monotonic_ns() - since_ns < IDLE_S * 1e9:
            self._stop.wait(IDLE_S)  # a driver that does not wait by itself must not spin
        self.watch()
        limit_s = max(self._pace.reopen_silent_s, self._stale_after_s)
        if self._standing.silent_s > limit_s:
            raise WireLost(f"silent for {limit_s:g} s; opening {self._entry.address} anew")

    def _count_bytes(self, count: int) -> None:
        self._standing.counts.bytes_received += count
