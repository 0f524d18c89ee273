"""What a driver or a meter may be able to do beside the driver interface; none is needed to read a meter.

Each ability is a protocol that is looked for (`isinstance`) where it is used, and done without where it is
missing. So an ability may be added to a driver, or to this module, without touching any other driver.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Protocol, runtime_checkable

from meterlog.reading.driver import Identity, Line, Nanoseconds, Settings, Wire


@runtime_checkable
class ChecksSettings(Protocol):
    """A `Driver` that can tell, with nothing connected, whether settings make sense."""

    def check(self, settings: Settings) -> None:
        """ValueError: what the settings ask for cannot be, and what could. May read a dialect's file.

        `meterlog.files.FileError`, which is one, tells what is wrong in that file at its own lines.
        """


@runtime_checkable
class ChoosesLine(Protocol):
    """A `Driver` whose line hangs on the settings, for instance on a dialect's file."""

    def line_for(self, settings: Settings) -> Line:
        """How the port must be opened. ValueError as for `ChecksSettings.check`."""


@dataclass(frozen=True, slots=True)
class Probe:
    """One way to find out whether a certain kind of meter is at the end of a line.

    line       how the port is opened
    question   what is sent to make it speak; b"" for a meter that talks by itself. Must change nothing there
    listen_s   how long the longest pause of such a meter is
    recognise  all that was heard -> who it is; None if it is none of this kind. Pure, never raises
    dialect    what the bench file must name as dialect, if anything
    """

    line: Line
    question: bytes
    listen_s: float
    recognise: Callable[[bytes], Identity | None]
    dialect: str = ""


@runtime_checkable
class Recognises(Protocol):
    """A `Driver` that can tell its meters by what they send."""

    def probes(self) -> Sequence[Probe]:
        """The likeliest first."""


@dataclass(frozen=True, slots=True)
class Taught:
    """What frames tell together with what the display showed at each.

    text      what is known by now and what to show next, for a person
    draft     the beginning of the file that describes such a meter
    is_whole  whether nothing that was seen is left open
    """

    text: str
    draft: str
    is_whole: bool


@runtime_checkable
class LearnsDisplays(Protocol):
    """A `Driver` whose meters are described in files, and that can find out which bit is which."""

    def learn(self, examples: Sequence[tuple[bytes, str]], digits: int, name: str) -> Taught:
        """Pure. `examples`: a frame, and what the display showed. ValueError: which cannot be, and why."""


@runtime_checkable
class Remarks(Protocol):
    """A `Meter` that says more than readings: entries of its error queue, readings that it lost."""

    def remarks(self) -> Sequence[str]:
        """What was said since the last call, oldest first; at most a few dozen are kept. Never raises."""


@dataclass(frozen=True, slots=True)
class Tone:
    """What a source says it gives. `level_v` is rms, as its display has it whatever the load is.

    remark: what a person has to know beside: the load that the display counts on, what the source corrected
    """

    frequency_hz: float
    level_v: float
    on: bool
    remark: str = ""

    def __str__(self) -> str:
        return f"{self.frequency_hz:.6g} Hz, {self.level_v:.4g} V"


class Source(Protocol):
    """One connected, identified source. Nothing is believed that it has not read back."""

    identity: Identity

    def set(self, frequency_hz: float | None, level_v: float | None) -> Tone:
        """Set a sine, each None as it is, without switching the output; what it reads back afterwards.

        Raises WireLost, Unanswered, Garbled, Refused.
        """

    def switch_on(self) -> Tone:
        """Output on; what it reads back. Raises as `set`."""

    def close(self) -> None:
        """Leave the tone as it is. Never raises; does not close the wire."""


@runtime_checkable
class DrivesSources(Protocol):
    """An ability that a `Driver` may have beside: to set a source."""

    line: Line

    def connect_source(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Source:
        """Identify within a few seconds, or raise a WireError that says why not.

        Of the settings dialect and options count. ValueError: they are not those of this kind of source.
        """
