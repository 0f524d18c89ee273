"""The record as data frames, for notebooks and scripts: read only, also while a daemon writes.

A session that still runs is taken as far as it is stored. `folder` is the data folder, as for --data; None is
the operating system's place for it. The frames are those of polars; an empty cell is null, never NaN, and
times are in UTC.
"""

try:
    import polars as _polars  # noqa: F401 - an extra: who lacks it is told so here, once
except ImportError as error:
    raise ImportError(f'notebooks need polars ({error}): pip install "meterlog[notebook]"') from error

from meterlog.notebook.read import budget, readings, sessions, settled
from meterlog.records import RecordsError

__all__ = ["RecordsError", "budget", "readings", "sessions", "settled"]
