"""What the tests of finding share: ports made up by hand, and a driver that recognises lines of text."""

from collections.abc import Sequence
from dataclasses import dataclass
from types import SimpleNamespace

from meterlog.bench.find import NamedPort, Port, name_ports
from meterlog.reading import Identity, Line, Meter, Nanoseconds, Probe, Settings, Wire
from tests.bench.kit import PlainDriver, PlainMeter

SLOW = Line(baud=1200)
FAST = Line(baud=19200, dtr=True)


@dataclass
class Knowing(PlainDriver):
    """A plain driver whose probes are given. It shows each line as volts, whatever was asked."""

    given: Sequence[Probe]
    name: str = "knowing"

    def __post_init__(self) -> None:
        self.line = self.given[0].line if self.given else Line()

    def probes(self) -> Sequence[Probe]:
        return self.given

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        return PlainMeter(wire, "plain meter", monotonic_ns)


def talks(word: bytes, line: Line = SLOW, listen_s: float = 0.3, dialect: str = "") -> Probe:
    """A meter that sends this word by itself."""
    return asked(b"", word, line, listen_s, dialect)


def asked(question: bytes, word: bytes, line: Line = SLOW, listen_s: float = 0.3, dialect: str = "") -> Probe:
    """A meter that answers the question with something that has this word in it."""

    def recognise(heard: bytes) -> Identity | None:
        return Identity(model=word.decode(), text=word.decode()) if word in heard else None

    return Probe(line, question, listen_s, recognise, dialect)


def port(device: str, by_id: str = "", by_path: str = "", usb: str = "0403:6001:A1") -> Port:
    return Port(
        device=device,
        by_id=by_id and f"/dev/serial/by-id/{by_id}",
        by_path=by_path and f"/dev/serial/by-path/{by_path}",
        usb=usb,
        has_serial_number=not usb.endswith(":"),
    )


def named(*devices: str) -> list[NamedPort]:
    """Ports that differ in everything."""
    return name_ports([port(device, by_id=device[-1], usb=f"0403:6001:{device}") for device in devices])


def as_listed(device: str, serial_number: str | None = "A1", vid: int | None = 0x0403) -> SimpleNamespace:
    """A port as pyserial lists it."""
    return SimpleNamespace(
        device=device, description="n/a", vid=vid, pid=0x6001 if vid else None, serial_number=serial_number
    )
