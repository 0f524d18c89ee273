"""One run: a case, a person, and what guides it; and what came of it."""

import random
from collections.abc import Iterable, Iterator
from enum import StrEnum
from typing import NamedTuple

from meterlog.accuracy import Verdict
from tests.trials.feel.bench import TOLERANCE_DB, Bench, Job, case_of
from tests.trials.feel.guidance import Guidance
from tests.trials.feel.hand import Doing, Hand, Traits
from tests.trials.feel.with_cues import Ear, Listener
from tests.trials.feel.with_digits import Looker

LIMIT_S = 120.0
AS_FOUND_S = 20.0


class Condition(StrEnum):
    CUES = "cues"
    DIGITS = "digits"
    IN_VIEW = "digits in view"


class Run(NamedTuple):
    """`error_db`: of the true level, signed, with the tool away. `time_s`: from the first touch until
    captured (or called done) and the tool away, the limit if that did not come. `rest_s`: of that, after
    the level was in tolerance for good (0 if it is not). `looked_away_s`: with the eyes not on the screw.
    `verdict`: the engine's, with cues only."""

    condition: Condition
    job: Job
    seed: int
    error_db: float
    time_s: float
    timed_out: bool
    rest_s: float
    moves: int
    looked_away_s: float = 0.0
    verdict: Verdict | None = None


def run(condition: Condition, job: Job, seed: int) -> Run:
    bench = Bench(case_of(job, seed), f"meter {job} {seed}")
    traits = Traits.drawn(random.Random(f"person {job} {seed}"))
    hand = Hand(bench, traits, random.Random(f"hand {job} {seed}"))
    if condition is Condition.CUES:
        return _guided(job, seed, bench, hand)
    return _alone(condition, job, seed, bench, hand)


def _alone(condition: Condition, job: Job, seed: int, bench: Bench, hand: Hand) -> Run:
    looker = Looker(bench, hand, in_view=condition is Condition.IN_VIEW)
    doing = looker.adjust() if job is Job.ADJUST else looker.back_off()
    while bench.display.number < 3:
        bench.step()
    inside = _Inside(bench)
    done = False
    while not done and not _late(bench):
        bench.step()
        inside.look()
        done = _finished(doing)
    return _result(condition, job, seed, bench, hand, inside, done, looked_away_s=looker.looked_away_s)


def _guided(job: Job, seed: int, bench: Bench, hand: Hand) -> Run:
    guidance = Guidance(job, bench.case.meter.filter_s)
    ear = Ear(guidance.speaker, hand.traits.tempo_threshold, random.Random(f"ear {job} {seed}"))
    while not guidance.adjusting:
        guidance.pass_on(bench.now_s, bench.step())
        if bench.now_s >= AS_FOUND_S:  # too noisy to be taken as found; the job is to be tried all the same
            guidance.skip(bench.now_s)
    listener = Listener(bench, hand, ear)
    doing = listener.adjust() if job is Job.ADJUST else listener.back_off()
    inside = _Inside(bench)
    while guidance.ended is None and not _late(bench):
        reading = bench.step()
        guidance.pass_on(bench.now_s, reading)
        ear.listen(bench.now_s)
        inside.look()
        next(doing)
    for _ in _leave(hand, doing):
        bench.step()
        inside.look()
    verdict = None if guidance.ended is None else guidance.ended.verdict
    return _result(Condition.CUES, job, seed, bench, hand, inside, verdict is not None, verdict=verdict)


def _leave(hand: Hand, doing: Doing) -> Doing:
    """A movement begun is not stopped; then the person hears that the value is stored, and lets go."""
    while hand.turning:
        next(doing)
        yield
    if not hand.away:
        yield from hand.react()
        yield from hand.let_go()


class _Inside:
    """Since when the true level has been in tolerance."""

    def __init__(self, bench: Bench) -> None:
        self._bench = bench
        self.since_s: float | None = None

    def look(self) -> None:
        if abs(self._bench.error_db) > TOLERANCE_DB:
            self.since_s = None
        elif self.since_s is None:
            self.since_s = self._bench.now_s


def _late(bench: Bench) -> bool:
    return bench.first_touch_s is not None and bench.now_s - bench.first_touch_s >= LIMIT_S


def _finished(doing: Doing) -> bool:
    try:
        next(doing)
    except StopIteration:
        return True
    return False


def _result(
    condition: Condition,
    job: Job,
    seed: int,
    bench: Bench,
    hand: Hand,
    inside: _Inside,
    done: bool,
    *,
    looked_away_s: float = 0.0,
    verdict: Verdict | None = None,
) -> Run:
    assert bench.first_touch_s is not None, "nobody is done before the first touch"
    return Run(
        condition=condition,
        job=job,
        seed=seed,
        error_db=bench.error_db,
        time_s=bench.now_s - bench.first_touch_s if done else LIMIT_S,
        timed_out=not done,
        rest_s=0.0 if inside.since_s is None else bench.now_s - inside.since_s,
        moves=hand.moves,
        looked_away_s=looked_away_s,
        verdict=verdict,
    )


JUDGED_FROM = 1_000
"""Cases before this one may have been looked at while a constant of the product was chosen."""


def results(count: int) -> Iterator[Run]:
    """`count` cases of each job under each condition."""
    for job in Job:
        for condition in Condition:
            for seed in range(JUDGED_FROM, JUDGED_FROM + count):
                yield run(condition, job, seed)


def points(runs: Iterable[Run]) -> list[tuple[str, str, float, float]]:
    """(condition, job, error in dB without its sign, time in s) of each run, to be drawn or tabulated."""
    return [(str(run.condition), str(run.job), abs(run.error_db), run.time_s) for run in runs]
