"""A published method with the settings among which it may be tuned."""

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from tests.trials.settling.trial import Method, Task

Settings = dict[str, tuple[float, ...]]


@dataclass(frozen=True, slots=True)
class Candidate:
    """`build(task, **one value of each setting)` makes the method for a task.

    source    author, journal, year; "common practice" where nobody in particular is known for it
    settings  for every keyword of `build` the values to be tried, mildest or shortest first
    good      combinations, in the order of `settings`, that a longer search on the training seeds has found:
              some hundred, mostly the best so far with one to three settings changed; tuning tries these and
              what lies near them
    """

    name: str
    source: str
    settings: Settings
    build: Callable[..., Method]
    good: tuple[tuple[float, ...], ...] = ()

    @property
    def good_settings(self) -> list[dict[str, float]]:
        return [dict(zip(self.settings, values, strict=True)) for values in self.good]


WINDOW = (0.5, 0.75, 1.0, 1.25, 1.5, 2.0)
"""Lengths of a moving window, in dwells."""

READINGS = (4.0, 6.0, 8.0, 12.0)
"""Readings that a moving window must hold; it is lengthened for a meter that is too slow."""

SPREAD = (0.07, 0.1, 0.15, 0.2, 0.25, 0.3, 0.45, 0.7, math.inf)
"""Largest standard deviation of the readings, in tolerances; infinite: not asked for."""

IGNORE = (0.0, 0.02, 0.05, 0.1, 0.2, 0.35)
"""Standard deviation, in tolerances, of noise too small to matter; see `Streaming`."""

SPIKE = (0.0, 1.0, 2.0)
"""0 nothing, 1 median of three, 2 a lone outlier is dropped."""

BATCH = (0.0, 0.06, 0.12, 0.2, 0.3)
"""Readings are averaged over so many dwells before they are judged; 0 not."""


PATIENCE = (0.0, 0.05, 0.1, 0.15, 0.2, 0.3, 0.4, 0.5)
"""Least dwell, in horizons: what takes minutes to warm up is watched for longer than a trimmer."""


def dwell_of(task: Task) -> float:
    """The dwell in s, never shorter than the meter itself averages."""
    return max(task.dwell_s, task.lag_s)


def patient(build: Callable[..., Method]) -> Callable[..., Method]:
    """Gives a `build` the setting `patience`, for which it need do nothing: the dwell it sees is longer."""

    def build_patient(task: Task, *, patience: float = 0.0, **settings: float) -> Method:
        return build(replace(task, dwell_s=max(task.dwell_s, patience * task.horizon_s)), **settings)

    return build_patient


def window_of(task: Task, dwells: float, readings: float) -> float:
    """Length of a moving window in s that holds so many readings."""
    return max(dwells * dwell_of(task), (readings - 1.0) * task.period_s)
