"""Thinning a long run of readings for a chart without hiding what happened in it.

Each stretch of time keeps its lowest and its highest reading, so a spike of one reading stays as tall as
it was; averaging or taking every n-th reading would lose it.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from itertools import groupby


@dataclass(frozen=True, slots=True)
class Point:
    """One reading on a chart: seconds from its beginning, value as shown; None where there is none."""

    time_s: float
    shown: float | None


def thin(points: Iterable[Point], duration_s: float, stretches: int = 600) -> Iterator[Point]:
    """First gap, lowest, highest and last gap of each of `stretches` equal parts, in order of time.

    `points` come in order of time. One pass, in memory only one stretch at a time. A gap (`shown` None)
    is kept so that the line of the chart breaks where the meter had no value.
    """
    width_s = max(duration_s / stretches, 1e-9)  # never nothing; no reading is finer than a nanosecond
    for _, part in groupby(points, key=lambda point: int(point.time_s // width_s)):
        yield from _ends(part)


def _ends(part: Iterable[Point]) -> Iterator[Point]:
    points = list(part)
    valued = [(point.shown, index) for index, point in enumerate(points) if point.shown is not None]
    gaps = [index for index, point in enumerate(points) if point.shown is None]
    kept = set(gaps[:1] + gaps[-1:])
    if valued:
        kept |= {min(valued)[1], max(valued)[1]}
    yield from (points[index] for index in sorted(kept))
