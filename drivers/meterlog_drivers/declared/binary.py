"""Meters that send binary frames with a length or a sum and are described in a file.

    driver = "binary"
    dialect = "my-meter.toml"

See docs/dialects.md. Options: identity   text that the description's name must contain.
"""

from dataclasses import replace

from meterlog.reading import Line, Maturity, Meter, Nanoseconds, Settings, Wire
from meterlog_drivers.declared.described import described_by
from meterlog_drivers.declared.frame_file import load_frames
from meterlog_drivers.declared.frame_model import FrameTables
from meterlog_drivers.declared.frame_read import Frames
from meterlog_drivers.handheld.driver import Handheld
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.framing import Window

KIND = "value"
"""The table that only such a file has."""


class Binary:
    """The driver; see `meterlog.reading.Driver`, `ChecksSettings`, `ChoosesLine`."""

    name = "binary"
    summary = "meters that send binary frames with a length or a sum, as a file describes them"
    maturity = Maturity.SIMULATED
    line = Line()

    def check(self, settings: Settings) -> None:
        _described(settings).check(replace(settings, dialect=""))

    def line_for(self, settings: Settings) -> Line:
        return _described(settings).line

    def connect(self, wire: Wire, settings: Settings, monotonic_ns: Nanoseconds) -> Meter:
        """Wait up to 5 s for the first sound frame, or ask until answers follow questions."""
        return _described(settings).connect(wire, replace(settings, dialect=""), monotonic_ns)


def _described(settings: Settings) -> Handheld:
    """A driver for the meters of this file alone. ValueError: there is no such file, or it is not sound."""
    found = described_by(settings.dialect, KIND, load_frames)
    name = found.identity(found.tables.head.name).text
    return Handheld(Binary.summary, {"": format_of(found.tables, name)})


def format_of(tables: FrameTables, name: str) -> Format:
    """As the meters of the hand-held drivers are made of."""
    frames, line, ask = Frames(tables), tables.line.over(Line()), tables.ask
    meanings = [*tables.functions.values(), *tables.ranges.values()]
    return Format(
        name=name,
        sends=str(line),
        line=line,
        decoder=lambda: Window(frames.length, frames.read),
        functions=frozenset(meaning.whole().function for meaning in meanings) - {""},
        look_at="is the meter on, its sending switched on, the lead seated?",
        period_s=tables.head.period,
        repeat_s=tables.frame.repeat,
        question=bytes(ask.reading) if ask else b"",
        answer_s=ask.patience if ask else 1.0,
    )


driver = Binary()
