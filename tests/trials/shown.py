"""What a meter shows, as every method under trial gets to see it."""

from typing import NamedTuple

from meterlog.reading import State


class Shown(NamedTuple):
    """One reading. `value` is None unless `state` is OK; `resolution` is one count (0.0 unknown)."""

    time_s: float
    value: float | None
    state: State = State.OK
    resolution: float = 0.0
    range_max: float | None = None
