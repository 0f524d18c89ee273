"""What the tests of the bench share: a witness to what a link says, a plain driver, a hurried pace."""

import threading
import time
from collections.abc import Callable, Sequence
from typing import Any

from meterlog.bench import Channel, Link, LinkState, LinkStatus, MeterEntry, Pace, SystemClock
from meterlog.bench.bench_model import LineTable
from meterlog.bench.wires import OpenWire, open_wire
from meterlog.quantity import Unit
from meterlog.reading import (
    Coupling,
    Driver,
    Identity,
    Indication,
    Line,
    Maturity,
    Meter,
    Nanoseconds,
    Reading,
    Settings,
    State,
    Unanswered,
    Wire,
)

PATIENCE_S = 60.0
"""For a busy machine; what is waited for takes seconds at most."""
HURRIED = Pace(
    backoff_first_s=0.02,
    backoff_last_s=0.1,
    other_meter_s=0.1,
    poll_wait_s=0.05,
    stale_least_s=0.3,
    stale_periods=3.0,
    reopen_silent_s=5.0,
)


def volts(value: float | None = 1.0, at_ns: int = 0, **more: Any) -> Indication:
    """An indication of a DC voltage, or of what `more` says."""
    state = State.OK if value is not None else State.OVERLOAD
    shown = {"unit": Unit.VOLT, "coupling": Coupling.DC, "state": state}
    return Indication(monotonic_ns=at_ns, value=value, **(shown | more))


class Witness:
    """Hears a link; other threads may wait for something it said."""

    def __init__(self) -> None:
        self.readings: list[Reading] = []
        self.statuses: list[LinkStatus] = []
        self._news = threading.Condition()

    def deliver(self, reading: Reading) -> None:
        with self._news:
            self.readings.append(reading)
            self._news.notify_all()

    def on_state(self, status: LinkStatus) -> None:
        with self._news:
            self.statuses.append(status)
            self._news.notify_all()

    @property
    def states(self) -> list[LinkState]:
        """Each change of state, once."""
        said = [status.state for status in self.statuses]
        return [state for index, state in enumerate(said) if index == 0 or said[index - 1] is not state]

    def wait_for(self, what: Callable[[], bool]) -> None:
        with self._news:
            assert self._news.wait_for(what, PATIENCE_S), (self.statuses[-3:], self.readings[-3:])

    def wait_for_state(self, state: LinkState, since: int = 0) -> LinkStatus:
        """The first status in this state after the first `since` statuses."""
        self.wait_for(lambda: any(one.state is state for one in self.statuses[since:]))
        return next(one for one in self.statuses[since:] if one.state is state)

    def wait_for_identity(self) -> None:
        self.wait_for(lambda: any(one.identity for one in self.statuses))

    def wait_for_readings(self, count: int) -> None:
        """That many new ones."""
        wanted = len(self.readings) + count
        self.wait_for(lambda: len(self.readings) >= wanted)


class PlainMeter:
    """Every line that comes is a DC voltage in volts; nothing is asked."""

    def __init__(self, wire: Wire, identity: str, monotonic_ns: Nanoseconds, rest: bytes = b"") -> None:
        self.identity = Identity(text=identity)
        self.period_s = 0.05
        self._wire = wire
        self._monotonic_ns = monotonic_ns
        self._rest = rest

    def poll(self, wait_s: float) -> Sequence[Indication]:
        *lines, self._rest = (self._rest + self._wire.read(wait_s)).split(b"\n")
        return [volts(float(line), self._monotonic_ns(), raw=line) for line in lines]

    def resynchronise(self) -> None:
        self._wire.drop_input()

    def close(self) -> None:
        pass


class PlainDriver:
    """asks: whether the meter must first say its name, one line, within a second."""

    name = "plain"
    summary = "lines of text, one voltage each"
    maturity = Maturity.VECTORS

    def __init__(self, line: Line | None = None, *, asks: bool = False) -> None:
        self.line = line or Line()
        self._asks = asks

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        name, rest = self._name(wire) if self._asks else (b"plain meter", b"")
        return PlainMeter(wire, name.decode("ascii"), monotonic_ns, rest)

    def _name(self, wire: Wire) -> tuple[bytes, bytes]:
        """The first line, and what came behind it."""
        wire.write(b"who\n")
        heard, end_s = b"", time.monotonic() + 1.0
        while b"\n" not in heard:
            if time.monotonic() > end_s:
                raise Unanswered("no name within 1 s")
            heard += wire.read(0.1)
        name, _, rest = heard.partition(b"\n")
        return name, rest


def entry(address: str = "/dev/none", driver: str = "plain", identity: str = "", **more: Any) -> MeterEntry:
    """Without the checks of a file: the drivers of these tests need not be installed."""
    fields: dict[str, Any] = {"options": {}, "dialect": "", "line": LineTable()} | more
    return MeterEntry.model_construct(
        name="meter", driver=driver, address=address, identity=identity, **fields
    )


def channel(function: str = "voltage", coupling: Coupling = Coupling.DC, **more: Any) -> Channel:
    return Channel(name="panel", meter="meter", function=function, coupling=coupling, **more)


def link_to(
    address: str,
    driver: Driver,
    witness: Witness,
    *,
    pace: Pace = HURRIED,
    identity: str = "",
    coupling: Coupling = Coupling.DC,
    opener: OpenWire = open_wire,
) -> Link:
    """A link on the real clock."""
    return Link(
        entry(address, driver.name, identity),
        [channel(coupling=coupling)],
        driver,
        SystemClock(),
        deliver=witness.deliver,
        on_state=witness.on_state,
        open_wire=opener,
        pace=pace,
    )
