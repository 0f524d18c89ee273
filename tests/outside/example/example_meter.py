"""An invented meter that talks by itself: 9600 baud 8N1, two lines a second.

$V+1.2345*62 CR LF
 |  |      `-- exclusive or of all that stands between $ and *, as two hexadecimal digits
 |  `--------- sign and five figures with a point, or " OL   " for overload
 `------------ V volts DC, R ohms
"""

import re
from collections.abc import Sequence
from functools import reduce
from operator import xor

from meterlog.quantity import Unit
from meterlog.reading import (
    Coupling,
    Garbled,
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
    WrongMeter,
)

IDENTITY = Identity(text="example lines")
FIRST_LINE_S = 3.0
NONSENSE_BYTES = 200

LINE = re.compile(
    rb"\$(?P<shown>(?P<function>[VR])(?P<number>[+-]\d+\.\d+| OL    ))\*(?P<sum>[0-9A-F]{2})\r\n"
)
LINE_BYTES = 14
FUNCTIONS = {b"V": ("voltage", Unit.VOLT, Coupling.DC), b"R": ("resistance", Unit.OHM, Coupling.NONE)}


def decode(line: bytes, at_ns: int) -> Indication | None:
    """What a line says; None if it is damaged."""
    found = LINE.fullmatch(line)
    if found is None or len(line) != LINE_BYTES or int(found["sum"], 16) != reduce(xor, found["shown"]):
        return None
    function, unit, coupling = FUNCTIONS[found["function"]]
    number = found["number"].strip().decode("ascii")
    overload = number == "OL"
    return Indication(
        monotonic_ns=at_ns,
        value=None if overload else float(number),
        unit=unit,
        state=State.OVERLOAD if overload else State.OK,
        function=function,
        coupling=coupling,
        resolution=0.0 if overload else float(f"1e-{len(number.partition('.')[2])}"),
        raw=line,
    )


class Decoder:
    """Bytes in, indications out: no port, no clock, the same result however the bytes are cut."""

    def __init__(self) -> None:
        self._line = bytearray()
        self._began_ns = 0
        self.nonsense = 0

    def feed(self, data: bytes, at_ns: int) -> list[Indication]:
        return [shown for byte in data if (shown := self._take(byte, at_ns))]

    def _take(self, byte: int, at_ns: int) -> Indication | None:
        self.nonsense += 1
        if byte == ord("$"):
            self._line.clear()
            self._began_ns = at_ns
        if len(self._line) <= LINE_BYTES:  # one too many is kept, to tell a line that is too long
            self._line.append(byte)
        shown = decode(bytes(self._line), self._began_ns) if byte == ord("\n") else None
        if shown:
            self.nonsense = 0
        return shown


class ExampleMeter:
    """See `meterlog.reading.Meter`."""

    def __init__(self, wire: Wire, monotonic_ns: Nanoseconds) -> None:
        self.identity = IDENTITY
        self.period_s = 0.5
        self._wire = wire
        self._monotonic_ns = monotonic_ns
        self._decoder = Decoder()
        self._kept = self.listen(FIRST_LINE_S)
        if not self._kept:
            raise Unanswered(f"nothing came within {FIRST_LINE_S:g} s: is the meter on?")

    def poll(self, wait_s: float) -> Sequence[Indication]:
        found = self._kept or self.listen(wait_s)
        self._kept = []
        return found

    def listen(self, wait_s: float) -> list[Indication]:
        """What comes within wait_s, but not longer than until something has come."""
        deadline_ns = self._monotonic_ns() + round(wait_s * 1e9)
        while (left_ns := deadline_ns - self._monotonic_ns()) > 0:
            data = self._wire.read(left_ns / 1e9)
            if found := self._decoder.feed(data, self._monotonic_ns()):
                return found
            self._refuse_nonsense()
        return []

    def _refuse_nonsense(self) -> None:
        if self._decoder.nonsense > NONSENSE_BYTES:
            self._decoder = Decoder()
            raise Garbled(f"{NONSENSE_BYTES} bytes without a line: another meter, or another speed?")

    def resynchronise(self) -> None:
        self._wire.drop_input()
        self._decoder = Decoder()

    def close(self) -> None:
        """Nothing to give back: this meter takes no commands."""


class ExampleDriver:
    """See `meterlog.reading.Driver`."""

    name = "example"
    summary = "a meter that was invented to show how a driver is written"
    maturity = Maturity.VECTORS
    line = Line(baud=9600)

    def check(self, settings: Settings) -> None:
        """What the bench file may ask for; looked at before anything is connected."""
        functions = [function for function, _, _ in FUNCTIONS.values()]
        if settings.function not in functions:
            raise ValueError(f'no function "{settings.function}"; this meter has {", ".join(functions)}')
        if settings.range_max is not None or settings.ac_filter_hz is not None or settings.second is not None:
            raise ValueError("this meter has one display, a range of its own, no filter: remove the others")
        if settings.dialect or set(settings.options) - {"identity"}:
            raise ValueError("this driver knows the option identity alone, and no dialects")

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        self.check(settings)
        wanted = str(settings.options.get("identity", ""))
        if wanted not in IDENTITY.text:
            raise WrongMeter(f'the meter can only be known as "{IDENTITY.text}", not as "{wanted}"')
        return ExampleMeter(wire, monotonic_ns)


driver = ExampleDriver()
