"""What drivers of meters share whose frames, and what they say, stand in a file."""

from dataclasses import replace

from meterlog.reading import Line, Maturity, Meter, Nanoseconds, Settings, Wire
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.format import Format


class Framed:
    """See `meterlog.reading.Driver`, `ChecksSettings`, `ChoosesLine`."""

    name: str
    summary: str
    maturity = Maturity.SIMULATED
    line = Line()

    def format_for(self, dialect: str) -> Format:
        """As the file describes it. ValueError: there is no such file, or all that is wrong in it."""
        raise NotImplementedError

    def check(self, settings: Settings) -> None:
        self._read(settings).check(_plain(settings))

    def line_for(self, settings: Settings) -> Line:
        return self._read(settings).line

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        """Wait up to 5 s for the first sound frame, or ask until answers follow questions."""
        return self._read(settings).connect(wire, _plain(settings), monotonic_ns)

    def _read(self, settings: Settings) -> Handheld:
        """A driver for the meters of this file alone."""
        return Handheld(self.summary, {"": self.format_for(settings.dialect)})


def _plain(settings: Settings) -> Settings:
    """The file is read; such a driver knows no other dialect."""
    return replace(settings, dialect="")
