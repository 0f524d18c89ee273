"""Invented signals with known truth, and how to feed them to a detector. Invented data, no source."""

import csv
import math
import random
import tomllib
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any, Protocol, TypeVar

from meterlog.reading import State

REFERENCE = Path(__file__).parents[1] / "reference"

Verdict = TypeVar("Verdict", covariant=True)
Readings = list[tuple[float, float]]


class Detector(Protocol[Verdict]):
    def update(
        self,
        time_s: float,
        value: float | None,
        state: State,
        *,
        resolution: float = 0.0,
        range_max: float | None = None,
    ) -> Verdict: ...


def feed(
    detector: Detector[Verdict], readings: Iterable[tuple[float, float]], count: float = 0.0
) -> list[tuple[float, Verdict]]:
    """Every verdict with its time, all readings OK."""
    return [(t, detector.update(t, x, State.OK, resolution=count)) for t, x in readings]


def sampled(
    truth: Callable[[float], float],
    *,
    until_s: float,
    period_s: float = 0.4,
    sigma: float = 0.0,
    count: float = 0.0,
    seed: int = 1,
    from_s: float = 0.0,
) -> Readings:
    """What a meter shows of a true level: normal noise, then rounding to the count."""
    noise = random.Random(seed)
    return [
        (t, rounded(truth(t) + noise.gauss(0.0, sigma), count)) for t in _times(from_s, until_s, period_s)
    ]


def rounded(value: float, count: float) -> float:
    return round(value / count) * count if count else value


def step(at_s: float, before: float, after: float, move_s: float = 0.01) -> Callable[[float], float]:
    """A hand that turns evenly for move_s and stops at at_s."""
    return lambda t: after + (before - after) * min(1.0, max(0.0, (at_s - t) / move_s))


def lagging(level: Callable[[float], float], lag_s: float) -> Callable[[float], float]:
    """A level behind a first-order averaging filter, integrated in small steps; asked in order of time."""
    seen = [0.0, level(0.0)]

    def shown(t: float) -> float:
        while seen[0] < t:
            seen[0] += lag_s / 50.0
            seen[1] += (level(seen[0]) - seen[1]) * -math.expm1(-1.0 / 50.0)
        return seen[1]

    return shown


def _times(from_s: float, until_s: float, period_s: float) -> Iterator[float]:
    for i in range(math.ceil((until_s - from_s) / period_s)):
        yield from_s + i * period_s


def column(file: str, name: str) -> list[float]:
    with (REFERENCE / file).open(newline="") as rows:
        return [float(row[name]) for row in csv.DictReader(rows)]


def table(file: str) -> dict[str, Any]:
    return tomllib.loads((REFERENCE / file).read_text())
