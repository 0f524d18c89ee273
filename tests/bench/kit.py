"""What the tests of the bench share: a plain driver, links to it."""

import time
from collections.abc import Sequence
from typing import Any

from meterlog.bench import Channel, Link, MeterEntry, Pace, SystemClock
from meterlog.bench.wires import OpenWire, open_wire
from meterlog.files import LineTable
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
    Settings,
    State,
    Unanswered,
    Wire,
)
from meterlog.testing import HURRIED, Witness


def volts(value: float | None = 1.0, at_ns: int = 0, **more: Any) -> Indication:
    """An indication of a DC voltage, or of what `more` says."""
    state = State.OK if value is not None else State.OVERLOAD
    shown = {"unit": Unit.VOLT, "coupling": Coupling.DC, "state": state}
    return Indication(monotonic_ns=at_ns, value=value, **(shown | more))


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
