"""Finds settings for the published methods on training trials.

In rounds: all settings on a few trials, the better ones of them on more, the best few on all.
"""

from collections.abc import Sequence
from itertools import product
from random import Random

from tests.trials.settling.methods import Candidate
from tests.trials.settling.published import Values, entrant
from tests.trials.settling.run import judge, total
from tests.trials.settling.score import Tally
from tests.trials.settling.trial import Trial

WANTED_FALSE = 0.001
MOST_SETTINGS = 40
ROUNDS = ((12, 15), (4, 5), (1, 1))
"""Every so-manieth seed is tried, and so many settings are kept."""


def settings_of(candidate: Candidate, most: int = MOST_SETTINGS) -> list[Values]:
    """All combinations, or so many of them drawn at random, the same at every run."""
    names = list(candidate.settings)
    every: list[Values] = [
        dict(zip(names, values, strict=True)) for values in product(*candidate.settings.values())
    ]
    return every if len(every) <= most else Random(candidate.name).sample(every, most)


def tune(candidate: Candidate, trials: Sequence[Trial]) -> tuple[Values, str]:
    """The settings that lose least of the hold among those with few false captures, and how they did."""
    settings, tally = settings_of(candidate), Tally()
    for every, kept in ROUNDS:
        some = [trial for trial in trials if trial.seed % every == 0]
        ranked = sorted(_tried(candidate, settings, some), key=lambda pair: merit(pair[1]))
        settings, tally = [values for values, _ in ranked[:kept]], ranked[0][1]
    return settings[0], _remark(tally)


def merit(tally: Tally) -> tuple[float, float]:
    """The less the better: hold lost once the false rate is low enough, else the false rate."""
    excess = tally.false_share if tally.false_share > WANTED_FALSE else 0.0
    return excess, tally.lost_share


def _tried(
    candidate: Candidate, settings: Sequence[Values], trials: Sequence[Trial]
) -> list[tuple[Values, Tally]]:
    entrants = [entrant(candidate, values, str(k)) for k, values in enumerate(settings)]
    found = judge(entrants, trials)
    return [(values, total(found[str(k)])) for k, values in enumerate(settings)]


def _remark(tally: Tally) -> str:
    missed = "" if tally.false_share <= WANTED_FALSE else f"; none gets below {100 * WANTED_FALSE:g} % false"
    return f"{100 * tally.false_share:.2f} % false, {100 * tally.lost_share:.1f} % lost{missed}"
