"""Meters that send binary frames with a length or a sum and are described in a file.

    driver = "binary"
    dialect = "my-meter.toml"

See docs/dialects.md. Options: identity   text that the description's name must contain.
"""

from meterlog.reading import Line
from meterlog_drivers.declared.described import described_by
from meterlog_drivers.declared.frame_file import load_frames
from meterlog_drivers.declared.frame_model import FrameTables
from meterlog_drivers.declared.frame_read import Frames
from meterlog_drivers.declared.framed import Framed
from meterlog_drivers.handheld.format import Format
from meterlog_drivers.handheld.framing import Window

KIND = "value"
"""The table that only such a file has."""


class Binary(Framed):
    """The driver."""

    name = "binary"
    summary = "meters that send binary frames with a length or a sum, as a file describes them"

    def format_for(self, dialect: str) -> Format:
        found = described_by(dialect, KIND, load_frames)
        return format_of(found.tables, found.identity().text)


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
