"""`fallen by N`: the product's detector beside the known methods, as Markdown.

PYTHONPATH=.:drivers python -m tests.trials.falling.table [--ours] [--seeds N] [--kind K] [--tune]
"""

import argparse
import sys
from collections.abc import Iterator, Sequence

from tests.trials.falling import bounds
from tests.trials.falling.contest import (
    JUDGED_FROM,
    JUDGED_PER_KIND,
    TRAINING,
    TUNED,
    trials,
    tuned,
    tuned_text,
)
from tests.trials.falling.kinds import KINDS
from tests.trials.falling.methods.known import KNOWN
from tests.trials.falling.ours import Ours
from tests.trials.falling.score import (
    Contender,
    Outcome,
    Score,
    by_kind,
    judge,
    microseconds,
    score,
    told_its_task,
)
from tests.trials.falling.trial import Trial

HEAD = "| {} | false % (95 %) | late > N/2 % | missed % | error/N 90 % | mean error/N | us/reading |"
RULE = "|---|---|---|---|---|---|---|"
KIND_HEAD = "| kind | trials | falls | false | late | missed | error/N 90 % | mean error/N | clairvoyant |"
KIND_RULE = "|---|---|---|---|---|---|---|---|---|"


def main(argv: list[str]) -> None:
    wanted = _arguments(argv)
    if wanted.tune:
        TUNED.write_text("\n".join(tuned_text(list(trials(TRAINING)))) + "\n")
    judged = list(
        trials(range(JUDGED_FROM, JUDGED_FROM + wanted.seeds), [wanted.kind] if wanted.kind else KINDS)
    )
    falls = sum(trial.reached_s is not None for trial in judged)
    _say(f"{len(judged)} trials, {falls} of them reach the target.", "", HEAD.format("method"), RULE)
    for name, contender in {} if wanted.ours else _others().items():
        _say(_row(name, contender, judged))
    outcomes = [judge(told_its_task(Ours), trial) for trial in judged]
    _say(_row("meterlog", told_its_task(Ours), judged), "", KIND_HEAD, KIND_RULE)
    _say(*_kinds(outcomes, [judge(bounds.clairvoyant, trial) for trial in judged]))


def _arguments(argv: list[str]) -> argparse.Namespace:
    parser = argparse.ArgumentParser(prog="fallen", description="Trials of 'fallen by N', with known truth.")
    parser.add_argument("--ours", action="store_true", help="only the product's own detector")
    parser.add_argument(
        "--seeds", type=int, default=JUDGED_PER_KIND, help="trials of each kind (%(default)s)"
    )
    parser.add_argument("--kind", choices=KINDS, metavar="KIND", help="only this kind of trial")
    parser.add_argument("--tune", action="store_true", help="find the methods' settings anew first")
    return parser.parse_args(argv)


def _say(*lines: str) -> None:
    for line in lines:
        print(line, flush=True)


def _others() -> dict[str, Contender]:
    """The known methods as they are usually set and as tuned, and the bounds."""
    usual = {
        f"{name}, as usual": told_its_task(known.with_settings(known.usual))
        for name, known in KNOWN.items()
        if known.usual is not None
    }
    best = {
        f"{name}, tuned": told_its_task(KNOWN[name].with_settings(settings))
        for name, settings in tuned().items()
    }
    return {
        "announces at once": bounds.hasty,
        "never announces": bounds.deaf,
        **usual,
        **best,
        "clairvoyant": bounds.clairvoyant,
        "clairvoyant, may be early": bounds.prophet,
    }


def _row(name: str, contender: Contender, judged: Sequence[Trial]) -> str:
    reached = score([judge(contender, trial) for trial in judged])
    interval = f"{100 * reached.false_low:.1f} to {100 * reached.false_high:.1f}"
    return (
        f"| {name} | {100 * reached.false:.2f} ({interval}) | {100 * reached.late:.1f} | "
        f"{100 * reached.missed:.1f} | {reached.error_90:.2f} | {reached.error_mean:.3f} | "
        f"{microseconds(contender, judged[:: max(1, len(judged) // 100)]):.1f} |"
    )


def _kinds(outcomes: list[Outcome], possible: list[Outcome]) -> Iterator[str]:
    """Counts, errors, and the mean error that was possible."""
    at_best = by_kind(possible)
    for kind, own in by_kind(outcomes).items():
        yield _kind_row(kind, own, score(own), score(at_best[kind]))


def _kind_row(kind: str, own: list[Outcome], reached: Score, best: Score) -> str:
    false, late, missed = sum(o.false for o in own), sum(o.late for o in own), sum(o.missed for o in own)
    counts = f"| {kind} | {reached.trials} | {reached.falls} | {false} | {late} | {missed} |"
    if not reached.falls:
        return f"{counts} | | |"
    return f"{counts} {reached.error_90:.2f} | {reached.error_mean:.3f} | {best.error_mean:.3f} |"


if __name__ == "__main__":
    main(sys.argv[1:])
