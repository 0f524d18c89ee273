"""Finds settings for the published methods on training trials.

A race: all settings are tried on a few trials and then, the one that loses least of the hold first, on all
of them until they have made more false captures than allowed. The first to get through has it.
"""

import math
from collections.abc import Mapping, Sequence
from itertools import product
from random import Random

from tests.trials.settling.methods import Candidate
from tests.trials.settling.published import Values, entrant
from tests.trials.settling.score import Tally, try_on, units
from tests.trials.settling.trial import Trial

WANTED_FALSE = 0.001
MOST_SETTINGS = 40
FEW_SEEDS = 2
NEAR_GOOD = 0.9


def settings_of(candidate: Candidate, most: int = MOST_SETTINGS) -> list[Values]:
    """All combinations, or so many of them, the same at every run.

    Those known to be good, some drawn from all, and mostly what lies one place from a good one in one or
    two settings. The dwell stays the step's, as published; see helped.toml for what a longer one gains.
    """
    grid = candidate.settings | ({"patience": (0.0,)} if "patience" in candidate.settings else {})
    if math.prod(len(values) for values in grid.values()) <= most:
        return [dict(zip(grid, values, strict=True)) for values in product(*grid.values())]
    good = [values for values in candidate.good_settings if all(values[name] in grid[name] for name in grid)]
    dice, found = Random(candidate.name), list[Values](good)
    while len(found) < most:
        near = good and dice.random() < NEAR_GOOD
        values = _near(dice, dice.choice(good), grid) if near else _any(dice, grid)
        if values not in found:
            found.append(values)
    return found


Grid = Mapping[str, Sequence[float]]


def _any(dice: Random, grid: Grid) -> Values:
    return {name: dice.choice(values) for name, values in grid.items()}


def _near(dice: Random, good: Values, grid: Grid) -> Values:
    values = dict(good)
    for name in dice.sample(list(values), dice.choice((1, 2))):
        choices = grid[name]
        place = choices.index(values[name]) + dice.choice((-1, 1))
        values[name] = choices[min(max(place, 0), len(choices) - 1)]
    return values


def tune(candidate: Candidate, trials: Sequence[Trial]) -> tuple[Values, str]:
    """The settings that lose least of the hold among those with few false captures, and how they did.

    If none has few enough, those that went furthest before they had too many.
    """
    few = [trial for trial in trials if trial.seed < FEW_SEEDS]
    allowed = WANTED_FALSE * sum(units(trial) for trial in trials)
    settings = settings_of(candidate)
    settings.sort(key=lambda values: _tried(candidate, values, few).lost_share)
    furthest, most = settings[0], 0
    for values in settings:
        tally = _tried(candidate, values, trials, allowed)
        if tally.false <= allowed:
            return values, _remark(tally)
        if tally.units > most:
            furthest, most = values, tally.units
    return furthest, _remark(_tried(candidate, furthest, trials))


def merit(tally: Tally) -> tuple[float, float]:
    """The less the better: hold lost once the false rate is low enough, else the false rate."""
    excess = tally.false_share if tally.false_share > WANTED_FALSE else 0.0
    return excess, tally.lost_share


def _tried(candidate: Candidate, values: Values, trials: Sequence[Trial], allowed: float = math.inf) -> Tally:
    """Up to the trial in which there are more false captures than allowed."""
    build, tally = entrant(candidate, values).build, Tally()
    for trial in trials:
        tally += try_on(build(trial), trial)
        if tally.false > allowed:
            break
    return tally


def _remark(tally: Tally) -> str:
    missed = "" if tally.false_share <= WANTED_FALSE else f"; none gets below {100 * WANTED_FALSE:g} % false"
    return f"{100 * tally.false_share:.2f} % false, {100 * tally.lost_share:.1f} % lost{missed}"
