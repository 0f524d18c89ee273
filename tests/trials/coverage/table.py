"""How often the expanded uncertainty of a session's last value holds the truth, as a table."""

import argparse
import math
from collections.abc import Iterable, Sequence
from typing import NamedTuple

from meterlog.accuracy.coverage import CLAIMED
from tests.trials.coverage.cases import CASES, Case
from tests.trials.coverage.signals import MIXES, Mix
from tests.trials.feel.table import line
from tests.trials.settling.proportion import clopper_pearson

COLUMNS = (
    "case",
    "sessions",
    "unsettled",
    "held %",
    "its standard deviation",
    "95 % of the share, %",
    "remark",
)


class Count(NamedTuple):
    """Sessions that came to a value, those of them whose interval held the truth, and those that did not
    come to one."""

    sessions: int
    held: int
    unsettled: int

    @property
    def share(self) -> float:
        return self.held / self.sessions

    @property
    def deviation(self) -> float:
        """Binomial, of the share."""
        return math.sqrt(self.share * (1.0 - self.share) / self.sessions)


def count(answers: Iterable[bool | None]) -> Count:
    all_ = list(answers)
    told = [one for one in all_ if one is not None]
    return Count(len(told), sum(told), len(all_) - len(told))


def row(case: Case | Mix, found: Count) -> str:
    low, high = clopper_pearson(found.held, found.sessions)
    return line(
        case.name,
        found.sessions,
        found.unsettled,
        f"{100 * found.share:.2f}",
        f"{100 * found.deviation:.2f}",
        f"{100 * low:.1f} to {100 * high:.1f}",
        case.because,
    )


def run(cases: Sequence[Case], sessions: int) -> Iterable[tuple[Case, Count]]:
    for case in cases:
        yield case, count(case.run(seed) for seed in range(sessions))


def main(argv: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="coverage", description=__doc__)
    parser.add_argument("--sessions", type=int, default=6000, help="simulated sessions for each case (6000)")
    parser.add_argument("--case", default="", help="only cases with this in their name")
    said = parser.parse_args(argv)
    print(f"claimed: {100 * CLAIMED:g} %\n")
    print(line(*COLUMNS), line(*("---" for _ in COLUMNS)), sep="\n")
    cases = [case for case in (*CASES, *MIXES) if said.case in case.name]
    for case, found in run(cases, said.sessions):
        print(row(case, found), flush=True)
