"""The figures of the trial "how it feels" as a table."""

import argparse
from collections.abc import Callable, Sequence
from statistics import median

from tests.trials.feel.bench import TOLERANCE_DB, Job
from tests.trials.feel.runs import Condition, Run, results

COLUMNS = (
    "job",
    "guided by",
    "error median / 90 %, dB",
    "out of tolerance",
    "time median / 90 %, s",
    "of it in tolerance, s",
    "eyes off the screw, s",
    "movements",
    "timed out",
)


def ninety(values: Sequence[float]) -> float:
    """The value that nine in ten do not exceed."""
    return sorted(values)[max(0, -(-len(values) * 9 // 10) - 1)]


def line(*cells: object) -> str:
    return "| " + " | ".join(map(str, cells)) + " |"


def row(runs: Sequence[Run]) -> str:
    errors = [abs(run.error_db) for run in runs]
    times = [run.time_s for run in runs]
    outside = sum(error > TOLERANCE_DB for error in errors) / len(runs)
    return line(
        runs[0].job,
        runs[0].condition,
        f"{median(errors):.3f} / {ninety(errors):.3f}",
        f"{outside:.1%}",
        f"{median(times):.1f} / {ninety(times):.1f}",
        f"{median(run.rest_s for run in runs):.1f}",
        f"{median(run.looked_away_s for run in runs):.1f}",
        f"{median(run.moves for run in runs):g}",
        sum(run.timed_out for run in runs),
    )


def ratios(cues: Sequence[Run], digits: Sequence[Run]) -> str:
    """Digits over cues: above 1 the cues are better."""

    def ratio(measure: Callable[[Run], float]) -> str:
        ours, theirs = [measure(run) for run in cues], [measure(run) for run in digits]
        return f"{median(theirs) / median(ours):.2f} / {ninety(theirs) / ninety(ours):.2f}"

    errors, times = ratio(lambda run: abs(run.error_db)), ratio(lambda run: run.time_s)
    return line(cues[0].job, f"{digits[0].condition} : cues", errors, "", times, "", "", "", "")


def table(runs: Sequence[Run]) -> str:
    lines = [line(*COLUMNS), line(*("---" for _ in COLUMNS))]
    for job in Job:
        cells = {
            condition: [run for run in runs if run.job is job and run.condition is condition]
            for condition in Condition
        }
        lines += [row(cell) for cell in cells.values()]
        lines += [ratios(cells[Condition.CUES], cells[c]) for c in Condition if c is not Condition.CUES]
    return "\n".join(lines)


def main(argv: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="feel", description=__doc__)
    parser.add_argument("--runs", type=int, default=300, help="cases of each job under each condition")
    print(table(list(results(parser.parse_args(argv).runs))))
