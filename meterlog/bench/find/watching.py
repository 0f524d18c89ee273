"""One address, looked at live: the bytes as they come, and what a driver makes of them."""

import re
import threading
from collections.abc import Callable
from contextlib import closing

from meterlog.bench.clock import Clock
from meterlog.bench.errors import BenchError
from meterlog.bench.find.raw import WIDTH, dump
from meterlog.quantity import base_scale, show
from meterlog.reading import Driver, Garbled, Indication, Line, Meter, Settings, Unanswered, Wire

_KEEP_BYTES = 4 * WIDTH
_WAIT_S = 0.3
_SLICE_S = 0.05
_PAUSE_NS = 50_000_000
"""USB adapters deliver in blocks some 16 ms apart (common practice); between frames it is longer."""


_LINE = re.compile(r"(\d{2,7})(?: baud)? +([5-8])([NEOMSneoms])(1|1\.5|2)")


def line_from(text: str) -> Line:
    """From "2400 8N1": speed, data bits, parity, stop bits. BenchError: it is not written so."""
    match = _LINE.fullmatch(text.strip())
    if match is None:
        raise BenchError(f"{text!r} is no line; write speed, data bits, parity and stop bits: 2400 8N1")
    speed, data_bits, parity, stop_bits = match.groups()
    return Line(int(speed), int(data_bits), parity.upper(), float(stop_bits))


class TappedWire:
    """See `meterlog.reading.Wire`; every byte that passes is also told, in the order it passed.

    Bytes are held back until the line pauses or enough have come, so that a frame stands in one line.
    """

    def __init__(self, wire: Wire, tell: Callable[[str], None], clock: Clock) -> None:
        self._wire = wire
        self._tell = tell
        self._clock = clock
        self._heard = b""
        self._heard_ns = 0
        self.close = wire.close

    def read(self, wait_s: float) -> bytes:
        data = self._wire.read(wait_s)
        now_ns = self._clock.monotonic_ns()
        if len(self._heard) >= _KEEP_BYTES or now_ns - self._heard_ns > _PAUSE_NS:
            self.flush()
        if data:
            self._heard += data
            self._heard_ns = now_ns
        return data

    def write(self, data: bytes) -> None:
        self.flush()
        self._say("»", data)
        self._wire.write(data)

    def drop_input(self) -> None:
        self.flush()
        self._wire.drop_input()

    def flush(self) -> None:
        """Tell what is held back."""
        data, self._heard = self._heard, b""
        self._say("«", data)

    def _say(self, mark: str, data: bytes) -> None:
        for line in dump(data, len(data)):
            self._tell(f"{mark} {line}")


def watch_bytes(wire: Wire, clock: Clock, *, tell: Callable[[str], None], stop: threading.Event) -> None:
    """Until `stop` is set. Raises WireLost."""
    tapped = TappedWire(wire, tell, clock)
    while not stop.is_set():
        tapped.read(_SLICE_S)
    tapped.flush()


def watch_driver(
    wire: Wire,
    driver: Driver,
    settings: Settings,
    clock: Clock,
    *,
    tell: Callable[[str], None],
    stop: threading.Event,
) -> None:
    """As `watch_bytes`, with every indication behind the bytes it came of; what the driver complains of, too.

    Raises WireLost, WrongMeter, ValueError.
    """
    tapped = TappedWire(wire, tell, clock)
    while not stop.is_set():
        try:
            with closing(driver.connect(tapped, settings, clock.monotonic_ns)) as meter:
                tapped.flush()
                tell(f"  {meter.identity.text}")
                _poll(meter, tapped, tell, stop)
        except (Unanswered, Garbled) as fault:
            tapped.flush()
            tell(f"! {fault}")
            stop.wait(_WAIT_S)
    tapped.flush()


def _poll(meter: Meter, tapped: TappedWire, tell: Callable[[str], None], stop: threading.Event) -> None:
    while not stop.is_set():
        indications = meter.poll(_WAIT_S)
        if indications:
            tapped.flush()
        for indication in indications:
            tell(f"= {indicated(indication)}")


def indicated(shown: Indication) -> str:
    """An indication in words: "12.34 V, dc, voltage, hold"; displays other than the main one by number."""
    number = f"display {shown.display}" if shown.display != 1 else ""
    parts = (number, _level(shown), shown.coupling, shown.function, *sorted(shown.flags))
    return ", ".join(part for part in parts if part)


def _level(shown: Indication) -> str:
    if shown.value is None:
        return f"{shown.state} {shown.unit}".strip()
    return show(shown.value, base_scale(shown.unit), shown.resolution)
