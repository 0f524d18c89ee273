"""Rounds and time to set two trimmers that disturb each other, with and without aim-off, as a table."""

import argparse
from collections.abc import Sequence
from statistics import median

from tests.trials.feel.table import line, ninety
from tests.trials.rounds.run import Run, run

COLUMNS = (
    "r",
    "units",
    "set by",
    "rounds median / 90 %",
    "time median / 90 %, s",
    "did not converge",
    "passed, truly out",
)
BANDS = ((0.2, 0.5), (0.5, 0.7), (0.7, 0.9))


def row(band: tuple[float, float], runs: Sequence[Run]) -> str:
    """Figures of those that converged; the others are counted."""
    done = [one for one in runs if one.converged]
    rounds, times = [one.rounds for one in done], [one.time_s for one in done]
    return line(
        f"{band[0]} to {band[1]}",
        len(runs),
        "aim-off" if runs[0].aim_off else "plain rounds",
        f"{median(rounds):g} / {ninety(rounds):g}" if done else "",
        f"{median(times):.0f} / {ninety(times):.0f}" if done else "",
        len(runs) - len(done),
        sum(not one.inside for one in done),
    )


def table(runs: Sequence[Run]) -> str:
    lines = [line(*COLUMNS), line(*("---" for _ in COLUMNS))]
    for band in (*BANDS, (BANDS[0][0], BANDS[-1][1])):
        for aim_off in (True, False):
            those = [one for one in runs if one.aim_off is aim_off and band[0] <= one.r <= band[1]]
            lines += [row(band, those)] if those else []
    return "\n".join(lines)


def results(count: int) -> list[Run]:
    return [run(seed, aim_off=aim_off) for seed in range(count) for aim_off in (True, False)]


def main(argv: list[str]) -> None:
    parser = argparse.ArgumentParser(prog="rounds", description=__doc__)
    parser.add_argument("--units", type=int, default=200, help="simulated units, each set in both ways")
    print(table(results(parser.parse_args(argv).units)))
