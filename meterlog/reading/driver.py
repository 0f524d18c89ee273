"""The driver interface: all a driver may know of meterlog, and all meterlog knows of a driver.

A driver is found by an entry point in the group ``meterlog.drivers`` that names an object with the
attributes of `Driver`. It is imported only when a bench file chooses it. The bench opens the wire;
the driver speaks on it from one thread and never opens, shares or times out anything by itself.

What goes wrong is said with one of five errors, because the link does something different for each:

    WireError
    ├── WireLost       the line itself failed: close, back off, open again
    ├── Unanswered     nothing (complete) came in time: resynchronise, ask again; twice: open again
    ├── Garbled        something came that is no answer: as Unanswered
    ├── Refused        a source understood and said no: a person sets it
    └── WrongMeter     the instrument is not the one expected: a person must look; no readings
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Literal, Protocol

from meterlog.errors import MeterlogError
from meterlog.reading.indication import Coupling, Indication


class WireError(MeterlogError):
    """The line to an instrument failed; the text says which line and what to look at."""


class WireLost(WireError):  # noqa: N818 - a state of the link, named as the person sees it
    """Unplugged, refused, reset, closed."""


class Unanswered(WireError, TimeoutError):  # noqa: N818
    """No complete answer within the total deadline."""


class Garbled(WireError):  # noqa: N818
    """An answer that the meter's own format does not allow."""


class Refused(WireError):  # noqa: N818
    """An instrument that says that it cannot do what was asked."""


class WrongMeter(WireError):  # noqa: N818
    """Another instrument answers than the bench file or the last connection says."""


Options = Mapping[str, str | int | float | bool]


@dataclass(frozen=True, slots=True)
class Identity:
    """Who an instrument says it is; empty strings where it cannot say. `text` is its own words."""

    maker: str = ""
    model: str = ""
    serial_number: str = ""
    version: str = ""
    text: str = ""


Flow = Literal["none", "xon/xoff", "rts/cts", "dtr/dsr"]


@dataclass(frozen=True, slots=True)
class Line:
    """How a serial port must be opened. dtr and rts are set before opening; None leaves them alone.

    quiet_s: how long the port is left alone after opening, for leads and boards that wake up with it.
    flow: how the far end holds off. "rts/cts": the port heeds it, and `rts` does not count. "xon/xoff": the
        wire does, and takes these two out of what comes. "dtr/dsr": nothing is sent while an answer is due.
    """

    baud: int = 9600
    data_bits: int = 8
    parity: str = "N"
    stop_bits: float = 1
    dtr: bool | None = None
    rts: bool | None = None
    quiet_s: float = 0.0
    flow: Flow = "none"

    def __str__(self) -> str:
        return f"{self.baud} baud {self.data_bits}{self.parity}{self.stop_bits:g}"


class Wire(Protocol):
    """An open line, used by one thread. Every call ends within its stated time, whatever the far end does."""

    def read(self, wait_s: float) -> bytes:
        """What has arrived, at least one byte if any comes within wait_s, else b"". Raises WireLost."""

    def write(self, data: bytes) -> None:
        """Send all of it within the wire's write deadline. Raises WireLost, Unanswered if it is held off."""

    def drop_input(self) -> None:
        """Forget what has arrived (device clear where the line knows one). Raises WireLost."""

    def close(self) -> None:
        """Never raises; may be called twice."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """What one display of a meter should show."""

    function: str
    coupling: Coupling = Coupling.NONE


@dataclass(frozen=True, slots=True)
class Settings:
    """What the bench file asks of a meter.

    second   what its second display should show, where a channel wants that
    dialect  which description the driver goes by: the path of a file, or a name that the driver knows
    options  the driver's own keys, as text or numbers
    displays which of its displays channels want, lowest first: `function` is for the first of them
    """

    function: str = "voltage"
    coupling: Coupling = Coupling.NONE
    range_max: float | None = None
    ac_filter_hz: float | None = None
    second: Wanted | None = None
    dialect: str = ""
    options: Options = field(default_factory=dict)
    displays: tuple[int, ...] = (1,)


class Meter(Protocol):
    """One connected, identified instrument."""

    identity: Identity
    period_s: float
    """Expected seconds between readings; the link says stale after max(2 s, 5 periods)."""

    def poll(self, wait_s: float) -> Sequence[Indication]:
        """Readings that are new, none if none came within wait_s (meters that talk by themselves).

        A meter that must be asked is asked once; its own deadline then counts instead of wait_s.
        Raises WireLost, Unanswered, Garbled.
        """

    def resynchronise(self) -> None:
        """Make sure that the next answer belongs to the next question, after Unanswered or Garbled.

        Raises any WireError; the link then opens the wire anew.
        """

    def close(self) -> None:
        """Give the instrument back to its front panel if it can be. Never raises; does not close the wire."""


class Maturity(StrEnum):
    """How far a driver has been proven; shown when it is chosen."""

    VECTORS = "proven on byte vectors"
    SIMULATED = "proven against a simulated instrument"
    HARDWARE = "proven on hardware"


Nanoseconds = Callable[[], int]


class Driver(Protocol):
    """What an entry point of the group ``meterlog.drivers`` names."""

    name: str
    summary: str
    maturity: Maturity
    line: Line

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        """Identify and configure within a few seconds, or raise a WireError that says why not.

        ValueError: the settings ask for something this kind of meter cannot do.
        """
