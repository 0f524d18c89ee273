"""TOML files that people write: typed fields, and problems that point at file, line and field."""

from meterlog.files.fields import (
    BaseUnit,
    Day,
    Distance,
    Level,
    OwnScale,
    Real,
    Seconds,
    ShownIn,
    Target,
    Truth,
    Whole,
    references_of,
)
from meterlog.files.levels import NO_REFERENCES, Levels, references_in
from meterlog.files.lines import Location, find_line
from meterlog.files.problems import (
    FileError,
    Problem,
    Severity,
    parse_toml,
    problems_in,
    read_text,
    refuse_other,
)
from meterlog.files.serial_line import LineTable
from meterlog.files.tables import Table, tables_in

__all__ = [
    "NO_REFERENCES",
    "BaseUnit",
    "Day",
    "Distance",
    "FileError",
    "Level",
    "Levels",
    "LineTable",
    "Location",
    "OwnScale",
    "Problem",
    "Real",
    "Seconds",
    "Severity",
    "ShownIn",
    "Table",
    "Target",
    "Truth",
    "Whole",
    "find_line",
    "parse_toml",
    "problems_in",
    "read_text",
    "references_in",
    "references_of",
    "refuse_other",
    "tables_in",
]
