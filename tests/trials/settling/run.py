"""Runs entrants over many trials. Every trial is made once and fed to all of them."""

from collections import defaultdict
from collections.abc import Callable, Iterable, Mapping, Sequence
from typing import NamedTuple

from tests.trials.settling.bounds import AtOnce, Clairvoyant, Never, TwoAgree
from tests.trials.settling.kinds import draw
from tests.trials.settling.ours import Ours
from tests.trials.settling.score import Tally, try_on
from tests.trials.settling.trial import Method, Trial

ByKind = dict[str, Tally]


class Entrant(NamedTuple):
    """A method with its settings. `build` may look at the truth; only the clairvoyant does."""

    name: str
    build: Callable[[Trial], Method]


OURS = Entrant("product", lambda trial: Ours(trial.task))
BOUND = Entrant("clairvoyant with dwell", Clairvoyant)
BAD = (
    Entrant("claims at once", lambda trial: AtOnce(trial.task)),
    Entrant("claims when two agree", lambda trial: TwoAgree(trial.task)),
    Entrant("never claims", lambda trial: Never(trial.task)),
)


def judge(entrants: Sequence[Entrant], trials: Iterable[Trial]) -> dict[str, ByKind]:
    """Tallies by name of entrant and kind."""
    found: dict[str, ByKind] = {entrant.name: defaultdict(Tally) for entrant in entrants}
    for trial in trials:
        for name, build in entrants:
            found[name][trial.kind] += try_on(build(trial), trial)
    return found


def draws(kinds: Sequence[str], seeds: Iterable[int]) -> Iterable[Trial]:
    return (draw(kind, seed) for seed in seeds for kind in kinds)


def total(tallies: Mapping[str, Tally]) -> Tally:
    whole = Tally()
    for tally in tallies.values():
        whole += tally
    return whole
