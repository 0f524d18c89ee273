"""A far end that follows a script, and settings for the drivers of described meters."""

from pathlib import Path
from typing import Any

from meterlog.reading import Coupling, Meter, Settings
from meterlog.testing import Chunks, FakeClock, FakeWire
from meterlog_drivers.declared.ascii import driver

Step = dict[str, Any]


class Script:
    """As the head of scpi_dialogues.toml explains; what is not next in it is answered by `also`."""

    def __init__(self, steps: list[Step], also: dict[bytes, Chunks] | None = None) -> None:
        self.left = list(steps)
        self.also = also or {}

    def __call__(self, line: bytes) -> Chunks:
        if self.left and line.decode() in self.left[0].get("tx_any", [self.left[0].get("tx")]):
            return [(chunk["ms"] / 1e3, chunk["data"].encode()) for chunk in self.left.pop(0)["rx"]]
        return self.also.get(line, ())


def settings(
    dialect: str, function: str = "voltage", coupling: Coupling = Coupling.DC, **more: Any
) -> Settings:
    return Settings(function=function, coupling=coupling, dialect=dialect, **more)


def kept(folder: Path, text: str) -> str:
    """The path of a new dialect file with this text."""
    path = folder / "meter.toml"
    path.write_text(text, encoding="utf-8")
    return str(path)


def connected(wanted: Settings, far_end: Any = None, chunks: Chunks = ()) -> tuple[Meter, FakeWire]:
    clock = FakeClock()
    wire = FakeWire(clock, far_end or (lambda line: ()))
    wire.send(chunks)
    return driver.connect(wire, wanted, clock), wire
