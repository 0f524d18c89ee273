"""Meters that send a picture of their display and are described in a file: which bit is which segment.

The bench file names the map:

    driver = "segments"
    dialect = "my-meter.toml"

How to find out which bit is which: docs/dialects.md.
Options: identity   text that the map's name must contain.
"""

from collections.abc import Sequence

from meterlog.reading import Line, Taught
from meterlog_drivers.declared.described import described_by
from meterlog_drivers.declared.display_file import load_display
from meterlog_drivers.declared.display_model import SPECIAL_FUNCTIONS, UNITS, DisplayTables
from meterlog_drivers.declared.display_read import Display
from meterlog_drivers.declared.framed import Framed
from meterlog_drivers.declared.taught import taught
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.framing import Window, fixed

KIND = "digit"
"""The table that only such a file has."""


class Segments(Framed):
    """The driver; see also `meterlog.reading.LearnsDisplays`."""

    name = "segments"
    summary = "meters that send a picture of their display, as a map in a file describes it"

    def format_for(self, dialect: str) -> Format:
        found = described_by(dialect, KIND, load_display)
        return format_of(found.tables, found.identity().text)

    def learn(self, examples: Sequence[tuple[bytes, str]], digits: int, name: str) -> Taught:
        return taught(examples, digits, name)


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
