"""The table of "settled": published methods, the product, the bound and the bad ones."""

import argparse
import time
from collections.abc import Mapping, Sequence

from tests.trials.settling import markdown
from tests.trials.settling.kinds import BESIDE, KINDS
from tests.trials.settling.methods import METHODS
from tests.trials.settling.published import helped, keep, tuned
from tests.trials.settling.run import BAD, BOUND, OURS, ByKind, draws, judge, total
from tests.trials.settling.tune import merit, tune

JUDGED_FROM, JUDGED = 100_000, 70
TRAINING = 24


def main(argv: Sequence[str]) -> None:
    asked = _parser().parse_args(argv)
    if asked.tune is not None:
        _tune(asked.tune or list(METHODS), asked.training)
    published = [] if asked.ours else tuned()
    entrants = [OURS] if asked.ours else [*published, *helped(), OURS, BOUND, *BAD]
    seeds = range(JUDGED_FROM, JUDGED_FROM + asked.seeds)
    found = judge(entrants, draws(asked.kind or KINDS, seeds))
    print(_summary(found))
    print(markdown.by_method(found))
    print(f"\n{OURS.name.capitalize()}, kind by kind:\n")
    print(markdown.by_kind(found[OURS.name]))
    if published:
        best = min((entrant.name for entrant in published), key=lambda name: merit(total(found[name])))
        print(f"\nBeside the best published method, {best}:\n")
        print(markdown.side_by_side((OURS.name, found[OURS.name]), (best, found[best])))


def _tune(names: Sequence[str], training: int) -> None:
    """On seeds that are not judged. Says how far it is, for it takes minutes."""
    trials = list(draws(KINDS, range(training)))
    for name in names:
        started = time.perf_counter()
        values, remark = tune(METHODS[name], trials)
        keep(name, values, remark)
        print(f"{name}: {remark} ({time.perf_counter() - started:.0f} s)", flush=True)


def _summary(found: Mapping[str, ByKind]) -> str:
    whole = total(found[OURS.name])
    kinds, never = len(found[OURS.name]), whole.units - whole.plateaus
    return f"{kinds} kinds, {whole.plateaus} plateaus, {never} stretches that never settle\n"


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.trials settled", description=__doc__)
    parser.add_argument("--seeds", type=int, default=JUDGED, help="judged trials of each kind")
    parser.add_argument(
        "--kind", action="append", choices=(*KINDS, *BESIDE), help="only this kind; may be repeated"
    )
    parser.add_argument("--ours", action="store_true", help="only the product")
    parser.add_argument("--tune", nargs="*", choices=METHODS, help="first find settings: of all, or of these")
    parser.add_argument("--training", type=int, default=TRAINING, help="training trials of each kind")
    return parser
