"""Meters that send a picture of their display and are described in a file: which bit is which segment.

The bench file names the map:

    driver = "segments"
    dialect = "my-meter.toml"

How to find out which bit is which: docs/dialects.md.
Options: identity   text that the map's name must contain.
"""

from collections.abc import Sequence
from dataclasses import replace

from meterlog.reading import Line, Maturity, Meter, Nanoseconds, Settings, Taught, Wire
from meterlog_drivers.declared.described import described_by
from meterlog_drivers.declared.display_file import load_display
from meterlog_drivers.declared.display_model import SPECIAL_FUNCTIONS, UNITS, DisplayTables
from meterlog_drivers.declared.display_read import Display
from meterlog_drivers.declared.taught import taught
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.framing import Window, fixed

KIND = "digit"
"""The table that only such a file has."""


class Segments:
    """The driver; see `meterlog.reading.Driver`, `ChecksSettings`, `ChoosesLine`."""

    name = "segments"
    summary = "meters that send a picture of their display, as a map in a file describes it"
    maturity = Maturity.SIMULATED
    line = Line(baud=2400)

    def check(self, settings: Settings) -> None:
        _described(settings).check(_plain(settings))

    def line_for(self, settings: Settings) -> Line:
        return _described(settings).line

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        """Wait up to 5 s for the first sound frame."""
        return _described(settings).connect(wire, _plain(settings), monotonic_ns)

    def learn(self, examples: Sequence[tuple[bytes, str]], digits: int, name: str) -> Taught:
        """See `meterlog.reading.LearnsDisplays`."""
        return taught(examples, digits, name)


def _described(settings: Settings) -> Handheld:
    """A driver for the meters of this file alone. ValueError: there is no such file, or it is not sound."""
    found = described_by(settings.dialect, KIND, load_display)
    name = found.identity(found.tables.head.name).text
    return Handheld(Segments.summary, {"": format_of(found.tables, name)})


def _plain(settings: Settings) -> Settings:
    """The file is read; such a driver knows no other dialect."""
    return replace(settings, dialect="")


def format_of(tables: DisplayTables, name: str) -> Format:
    """As the meters of the hand-held drivers are made of."""
    display = Display(tables)
    line = tables.line.over(Line())
    return Format(
        name=name,
        sends=str(line),
        line=line,
        decoder=lambda: Window(fixed(tables.frame.length, display.fits), display.read),
        functions=_functions(tables),
        look_at="is the meter on, its sending switched on, the lead seated?",
        period_s=tables.head.period,
        repeat_s=tables.frame.repeat,
    )


def _functions(tables: DisplayTables) -> frozenset[str]:
    names = tables.annunciators
    plain = {UNITS[name][1] for name in names if name in UNITS}
    special = {what for (unit, mark), what in SPECIAL_FUNCTIONS.items() if unit in names and mark in names}
    return frozenset(plain | special)


driver = Segments()
