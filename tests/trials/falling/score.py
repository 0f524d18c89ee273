"""How well a method tells a fall: what it announced against the true level at that time."""

import math
import time
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from tests.trials.falling.trial import Method, MethodFor, Trial
from tests.trials.settling.proportion import clopper_pearson

SHORT = 0.25
"""An announcement while the level is short of the target by more than so many N is a false alarm."""

LATE = 0.5
"""One when it is past the target by more than so many N is late, if a reading came in time for better."""

WORST = 1.0
"""What a miss counts, and the most that any other error counts, in parts of N."""

Contender = Callable[[Trial], Method]
"""A method ready for one trial; what knows the truth takes it from there, all others from its task alone."""


@dataclass(frozen=True, slots=True)
class Outcome:
    """`error` is how far past the target the level was, in N (negative: short); None: not announced.

    `in_time`: the first reading after the passing came before the level was late. A hand that goes through
    it all between two readings, or while the meter changes its range, is late for everybody.
    """

    kind: str
    reached: bool
    error: float | None
    in_time: bool = True

    @property
    def false(self) -> bool:
        return self.error is not None and self.error < -SHORT

    @property
    def missed(self) -> bool:
        return self.reached and self.error is None

    @property
    def late(self) -> bool:
        past = self.error is not None and self.error > LATE
        return self.missed or (self.reached and self.in_time and past)

    @property
    def distance(self) -> float:
        """Size of the error as it counts."""
        return WORST if self.error is None else min(WORST, abs(self.error))


def told_its_task(method_for: MethodFor) -> Contender:
    return lambda trial: method_for(trial.task)


def announced_s(method: Method, trial: Trial) -> float | None:
    return next((shown.time_s for shown in trial.shown if method.update(shown)), None)


def error_at(trial: Trial, at_s: float) -> float:
    """How far past the target the level is then, in parts of N."""
    return (trial.level(at_s) - trial.task.target) / (trial.task.target - trial.task.peak)


def _in_time(trial: Trial) -> bool:
    if trial.reached_s is None:
        return True
    after = (s.time_s for s in trial.shown if s.value is not None and s.time_s >= trial.reached_s)
    first_s = next(after, None)
    return first_s is not None and error_at(trial, first_s) <= LATE


def judge(contender: Contender, trial: Trial) -> Outcome:
    at_s = announced_s(contender(trial), trial)
    error = None if at_s is None else error_at(trial, at_s)
    return Outcome(trial.kind, trial.reached_s is not None, error, _in_time(trial))


class Score(NamedTuple):
    """Shares are in parts of 1; errors in parts of N, over the trials that reach the target."""

    trials: int
    falls: int
    false: float
    false_low: float
    false_high: float
    late: float
    missed: float
    error_90: float
    error_mean: float


def score(outcomes: Sequence[Outcome]) -> Score:
    """What there is nothing to count for is nan: false without trials, all others without a fall."""
    false = sum(o.false for o in outcomes)
    falls = [o for o in outcomes if o.reached]
    distances = sorted(o.distance for o in falls)
    return Score(
        len(outcomes),
        len(falls),
        _share(o.false for o in outcomes),
        *clopper_pearson(false, len(outcomes)),
        _share(o.late for o in falls),
        _share(o.missed for o in falls),
        distances[math.ceil(0.9 * len(distances)) - 1] if distances else math.nan,
        _share(distances),
    )


def _share(values: Iterable[float]) -> float:
    counted = list(values)
    return math.fsum(counted) / len(counted) if counted else math.nan


def by_kind(outcomes: Iterable[Outcome]) -> dict[str, list[Outcome]]:
    kinds: dict[str, list[Outcome]] = {}
    for outcome in outcomes:
        kinds.setdefault(outcome.kind, []).append(outcome)
    return kinds


def microseconds(contender: Contender, trials: Iterable[Trial]) -> float:
    """Processor time per reading until it is announced; of this machine at this moment, so never tested."""
    spent_s, readings = 0.0, 0
    for trial in trials:
        method = contender(trial)
        begun_s = time.process_time()
        readings += next((i for i, r in enumerate(trial.shown, 1) if method.update(r)), len(trial.shown))
        spent_s += time.process_time() - begun_s
    return 1e6 * spent_s / readings
