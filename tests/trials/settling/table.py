"""The table of "settled": published methods, the product, the bound and the bad ones."""

import argparse
from collections.abc import Sequence

from tests.trials.settling import markdown
from tests.trials.settling.kinds import KINDS
from tests.trials.settling.run import BAD, BOUND, OURS, draws, judge

JUDGED = range(100_000, 100_070)
TRAINING = range(25)


def main(argv: Sequence[str]) -> None:
    asked = _parser().parse_args(argv)
    kinds = asked.kind or KINDS
    seeds = range(JUDGED.start, JUDGED.start + asked.seeds)
    entrants = [OURS] if asked.ours else [OURS, BOUND, *BAD]
    found = judge(entrants, draws(kinds, seeds))
    print(markdown.by_method(found))
    print()
    print(markdown.by_kind(found[OURS.name]))


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="python -m tests.trials settled", description=__doc__)
    parser.add_argument("--seeds", type=int, default=len(JUDGED), help="judged trials of each kind")
    parser.add_argument("--kind", action="append", choices=KINDS, help="only this kind; may be repeated")
    parser.add_argument("--ours", action="store_true", help="only the product")
    return parser
